"""Finds the shots in the paths of a command with their sidecars, and measures a shot's picture."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from poise.commands.shared.output import Report
from poise.correction import NEUTRAL, Correction, Encoding, default_encoding
from poise.correction.keyframes import not_interpolated
from poise.correction.reading import shot_under
from poise.errors import FileError, UsageError
from poise.frames.scan import scan
from poise.frames.shots import Shot
from poise.invocation import program_name

if TYPE_CHECKING:
    from poise.frames import Frame
    from poise.scopes import Readings
    from poise.sidecar import Decision, Sidecar


@dataclass(frozen=True)
class Found:
    """A shot and its sidecar.

    Attributes:
        sidecar: None if it has none.
        at: the number of a frame of a sequence that takes the place of the judged one, and gets a keyframe.
    """

    shot: Shot
    sidecar: "Sidecar | None"
    at: int | None = None

    def __post_init__(self) -> None:
        object.__setattr__(self, "shot", shot_under(self.shot, self.sidecar.encoding if self.sidecar else None))

    @property
    def path(self) -> Path:
        """The still, or the pattern of a sequence, with its folder."""
        return self.shot.first.parent / self.shot.name

    @property
    def folder(self) -> Path:
        """The folder of its pictures, and of the CLF that its source may need."""
        return self.shot.first.parent

    @property
    def decision(self) -> "Decision | None":
        """The decision that `apply` carries out; None without a sidecar."""
        from poise.batch.plan import decision_of  # brings the formats

        return decision_of(self.sidecar, self.folder)

    def under(self, version: str) -> "Found":
        """The same shot with one of its versions as the correction; itself for an empty name.

        Raises:
            PoiseError: it has no such version.
        """
        from poise.sidecar import UNDECIDED, Decision

        decision = (Decision.of(self.sidecar) if version else UNDECIDED).under(version)
        return self if not version or self.sidecar is None else replace(self, sidecar=decision.into(self.sidecar))

    @property
    def corrected_by_hand(self) -> bool:
        """Whether a person made its correction, which `auto` must not replace without --again."""
        return self._decision.corrected_by_hand

    @property
    def correction(self) -> Correction:
        """The correction that was decided for its judged frame; neutral without a sidecar."""
        return self._decision.decided(self.frame)

    def decided(self, place: int) -> Correction:
        """The correction that was decided for one of its files, by index, without its steady values."""
        return self._decision.decided(self.shot.number(place))

    def delivered(self, place: int) -> Correction:
        """The correction that `apply` carries out on one of its files, by index; neutral without a sidecar."""
        return self._decision.at(self.shot.number(place))

    @property
    def keyframe(self) -> int | None:
        """The frame number at which a correction of the judged frame becomes a keyframe; None without keyframes."""
        return self.frame if self.sidecar and self.sidecar.keyframes else None

    @property
    def _decision(self) -> "Decision":
        from poise.sidecar import Decision

        return Decision.of(self.sidecar)

    def notes_over_time(self) -> list[str]:
        """What its keyframes can't do, a sentence each."""
        keyframes = self.sidecar.keyframes if self.sidecar else ()
        if keyframes and not self.shot.numbers:
            return ["its sidecar has keyframes, but it is a still; they are not used"]
        return [*not_interpolated(keyframes), *self._unsteady()]

    def _unsteady(self) -> list[str]:
        """That frames have no steady value, since they came later."""
        steady = self.sidecar.steady if self.sidecar else None
        lacking = [number for number in self.shot.numbers if steady is not None and steady.at(number) is None]
        if not lacking:
            return []
        which = f"frame {lacking[0]} has" if len(lacking) == 1 else f"{len(lacking)} frames from {lacking[0]} on have"
        return [f"{which} no steady value; run {program_name()} steady again"]

    @property
    def judged(self) -> int:
        """The index of the judged frame among its files."""
        return self.shot.nearest(self.at if self.at is not None else self.sidecar.judged if self.sidecar else None)

    @property
    def file(self) -> Path:
        """The still, or the judged frame of a sequence: the file that is measured, solved and shown."""
        return self.shot.files[self.judged]

    @property
    def frame(self) -> int | None:
        """The number of the judged frame; None for a still."""
        return self.shot.number(self.judged)


def found(paths: Iterable[Path], report: Report, stills: bool = False, sidecars: Path | None = None) -> list[Found]:
    """The shots in paths with their sidecars; problems are reported, and a shot whose sidecar is damaged is left out.

    Args:
        stills: treat every file as a shot of its own.
        sidecars: the folder of the sidecars; None if they are beside the pictures.

    Raises:
        UsageError: there are no shots at all, or two of them would share a sidecar.
    """
    from poise.sidecar import load_or_none

    listing = scan(paths, stills, sidecars)
    for problem in listing.problems:
        report.fault(*problem)
    if not listing.shots:
        raise UsageError("no pictures found; nothing to do")
    shots = []
    for shot in listing.shots:
        for first, last in shot.gaps:
            frames = f"frame {first} is" if first == last else f"frames {first} to {last} are"
            report.note(shot.first.parent / shot.name, f"{frames} missing; the others are used")
        try:
            one = Found(shot, load_or_none(shot))
        except FileError as fault:
            report.fault(fault.path, fault.reason)
            continue
        shots.append(one)
        wanted = one.sidecar.judged if one.sidecar else None
        if wanted is not None and wanted != one.frame:
            instead = f"there is no frame {wanted} to judge it on; using the nearest, {one.frame}"
            report.note(one.path, instead if shot.numbers else f"its sidecar names frame {wanted}, but it is a still")
        for note in one.notes_over_time():
            report.note(one.path, note)
    return shots


def encoding_of(sidecar: "Sidecar | None", frame: "Frame", folder: Path) -> Encoding:
    """The encoding that a sidecar names, or the default of the file.

    Args:
        folder: the shot's folder, where a CLF that is its source is looked for.
    """
    from poise.chain.source import resolve_source

    if sidecar is not None and sidecar.encoding is not None:
        return resolve_source(sidecar.encoding, folder)
    return default_encoding(frame.linear, frame.tags)


def readings(frame: "Frame", encoding: Encoding, correction: Correction = NEUTRAL) -> "Readings":
    """Measure a frame under a correction at full resolution, in work code.

    Raises:
        PoiseError: the engine can't apply this correction to this frame.
    """
    from poise.engine import compile_engine
    from poise.scopes import measure, measure_parts
    from poise.scopes.signal import strips

    engine = compile_engine(correction, encoding, frame.depth, output="work")
    primaries = encoding.work_primaries
    maximum = frame.depth.maximum
    # a percentile of floats needs every value, and a blurred matte its neighbourhood
    if engine.out_depth.is_float or engine.keyed is not None:
        return measure(engine.apply(frame.colour), maximum, primaries)
    return measure_parts(map(engine.apply, strips(frame.colour)), maximum, primaries)
