"""The plan of a batch: shots and their decisions become jobs, before any picture is opened.

Only the tags of clips are read.
"""

import dataclasses
import os
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

from msgspec.structs import replace

from poise.chain.source import resolve_source, transform
from poise.correction import Correction, Encoding, default_encoding
from poise.errors import PoiseError, UsageError
from poise.frames import probe
from poise.frames.clip_frame import Codes
from poise.frames.codecs import FORMATS, by_extension
from poise.frames.shots import Problem, Shot
from poise.invocation import program_name
from poise.sidecar import UNDECIDED, Decision, Sidecar
from poise.sidecar.decision import no_version


@dataclass(frozen=True)
class Target:
    """Where to write outputs, and in which format.

    Attributes:
        format: a name of `FORMATS`; None for that of the source.
        depth: a value of `Depth`; None for that of the source.
        stamp: whether to note in each output what was applied to it.
        movie: what clips are written as, a key of `poise.frames.codecs.clip.movies.MOVIES`; None for their own codec
            where that is a mezzanine. A `format` writes their frames as pictures.
    """

    folder: Path
    format: str | None = None
    depth: str | None = None
    stamp: bool = True
    movie: str | None = None


@dataclass(frozen=True, slots=True)
class Job:
    """One frame to process, or one clip to write as a movie, with everything that a worker needs to know.

    Attributes:
        movie: as in `Target`.
        frames: how many a clip has.
        by_frame: the correction of each frame of a clip, where they differ.
    """

    file: Path
    output: Path
    correction: Correction
    encoding: Encoding | None
    format: str
    depth: str | None
    stamp: bool = True
    movie: str | None = None
    frames: int = 1
    by_frame: tuple[Correction, ...] = ()


class PassedOver(NamedTuple):
    """A shot that is left out on purpose, with the reason."""

    file: Path
    reason: str


@dataclass(frozen=True)
class Plan:
    """The outputs of a run.

    Attributes:
        target: where outputs are written.
        jobs: one for each frame, in order.
        passed_over: shots that are left out on purpose.
        refused: files whose output would replace a source or another output, and shots whose CLF can't be used.
    """

    target: Target
    jobs: tuple[Job, ...]
    passed_over: tuple[PassedOver, ...]
    refused: tuple[Problem, ...]


def plan(
    shots: Iterable[tuple[Shot, Decision | None]], target: Target, everything: bool = False, version: str = ""
) -> Plan:
    """Plan every output of a run, and check it against the sources and the other outputs; no picture is opened.

    An output has its source's path relative to the path that the user named, below `target.folder`.

    Args:
        shots: each with its decision; None for a shot without a sidecar.
        everything: treat shots without a sidecar as neutral.
        version: of each shot, in place of its correction; shots without it are passed over. Empty for none.

    Raises:
        UsageError: the target is the folder of the sources or sidecars, or the format does not have the depth.

    Example:
        plan([(shot, Decision())], Target(Path("balanced"))).jobs
    """
    _possible(target)
    known = list(shots)
    for shot, _ in known:
        if os.path.realpath(target.folder) == os.path.realpath(shot.root):
            raise UsageError(f"{target.folder}: this folder holds the sources; choose another folder for --out")
        if shot.sidecars and os.path.realpath(target.folder) == os.path.realpath(shot.sidecars):
            raise UsageError(f"{target.folder}: this folder holds the sidecars; choose another folder for --out")
    real = _Followed()
    sources = {real(file) for shot, _ in known for file in shot.files}
    jobs: list[Job] = []
    passed: list[PassedOver] = []
    refused: list[Problem] = []
    outputs: dict[str, Path] = {}
    folder = os.path.realpath(target.folder)
    for shot, decision in known:
        reason = reason_left_out(decision, everything, version)
        if reason:
            passed.append(PassedOver(shot.first.parent / shot.name, reason))
            continue
        current = (decision or UNDECIDED).under(version)
        reason = _unusable(current.encoding)
        if reason:
            refused.append(Problem(shot.first.parent / shot.name, reason))
            continue
        as_movie = shot.clip if target.format is None else None
        every = tuple(current.at(shot.number(place)) for place in range(len(shot.files)))
        for place, file in enumerate((as_movie,) if as_movie else shot.files):
            encoding = current.encoding or _tagged(shot, target)
            if as_movie:
                output, kind = _movie(shot, as_movie, target, every, encoding), "clip"
            else:
                output, kind = _output(shot, file, target)
            place_on_disk = real(output)
            clash = _clash(shot, output, place_on_disk, folder, sources, outputs)
            if clash:
                refused.append(Problem(file, clash))
                continue
            outputs[place_on_disk] = file
            job = Job(file, output, every[place], encoding, kind, target.depth, target.stamp)
            if as_movie:
                alike = all(one == every[0] for one in every)
                job = dataclasses.replace(job, movie=target.movie, frames=len(every), by_frame=() if alike else every)
            jobs.append(job)
    return Plan(target, tuple(jobs), tuple(passed), tuple(refused))


def _possible(target: Target) -> None:
    if target.format and target.depth:
        kind = FORMATS[target.format]
        if target.depth not in kind.depths:
            raise UsageError(f"{kind.title} can't hold a depth of {target.depth}; use {' or '.join(kind.depths)}")


def decision_of(sidecar: Sidecar | None, folder: Path) -> Decision | None:
    """The decision of a sidecar, with its CLF resolved in the shot's folder; None without a sidecar."""
    if sidecar is None:
        return None
    return replace(Decision.of(sidecar), encoding=resolve_source(sidecar.encoding, folder))


def reason_left_out(decision: Decision | None, everything: bool, version: str = "") -> str | None:
    """Why a shot is passed over; None if it is not.

    Args:
        everything: treat shots without a sidecar as neutral.
        version: that is to be used; empty for none.

    Example:
        >>> reason_left_out(Decision(state="held", note="fog"), everything=False)
        'held: fog'
    """
    if decision is None:
        if everything:
            return no_version(version, {}) if version else None
        return f"no sidecar; run {program_name()} auto, or include it as neutral with --all"
    if decision.state in ("held", "skipped"):
        return decision.state + (f": {decision.note}" if decision.note else "")
    if version and version not in decision.versions:
        return no_version(version, decision.versions)
    return None


def _unusable(encoding: Encoding | None) -> str | None:
    """Why the CLF that is a shot's source can't be used; None if it can. Checked once for all frames."""
    try:
        transform(encoding or Encoding())
    except PoiseError as fault:
        return str(fault)
    return None


def _output(shot: Shot, file: Path, target: Target) -> tuple[Path, str]:
    same = by_extension(file)
    assert same is not None  # scan lists nothing else
    output = target.folder / shot.output(file)
    kind = FORMATS[target.format] if target.format else same.output
    if kind is same:
        return output, same.name
    return output.with_suffix(kind.extensions[0]), kind.name


def _movie(shot: Shot, clip: Path, target: Target, every: Sequence[Correction], encoding: Encoding | None) -> Path:
    """The output of a clip; one that nothing changes is copied, so it keeps its name."""
    from poise.frames.codecs.clip.codec import opened
    from poise.frames.codecs.clip.movies import movie

    output = target.folder / shot.relative(clip)
    if is_copied(clip, target.movie, every, encoding):
        return output
    return output.with_suffix(movie(opened(clip).facts, target.movie).ending)


def is_copied(clip: Path, movie: str | None, corrections: Sequence[Correction], encoding: Encoding | None) -> bool:
    """Whether a clip is copied byte for byte: nothing asks for another movie, or for other codes or tags.

    Args:
        movie: as in `Target`.
        corrections: of its frames, each at least once.

    Raises:
        FrameError: the clip can't be opened.
    """
    from poise.chain.order import is_neutral
    from poise.frames.codecs.clip.codec import opened

    if movie or not all(is_neutral(one, encoding or Encoding()) for one in corrections):
        return False
    if encoding is None:
        return True
    facts = opened(clip).facts
    under = facts.under(Codes(encoding.matrix, encoding.range))
    return (under.matrix, under.tags.range) == (facts.matrix, facts.tags.range)


def _tagged(shot: Shot, target: Target) -> Encoding | None:
    """The encoding of a clip by its tags; None for pictures, whose format decides when they are read."""
    if shot.clip is None:
        return None
    encoding = default_encoding(False, probe(shot.clip).tags)
    linear = target.format == "exr" or (target.format == "tiff" and target.depth in ("half", "float"))
    return replace(encoding, delivery="linear") if linear else encoding


def _clash(shot: Shot, output: Path, real: str, folder: str, sources: set[str], outputs: dict[str, Path]) -> str | None:
    if not real.startswith(os.path.join(folder, "")):
        return f"its output {output} would leave the folder through a link; remove the link"
    if real in sources:
        return f"its output would overwrite the source {output}; choose another folder for --out"
    if real in outputs:
        return f"its output {output} is also that of {outputs[real]}; apply them to different folders"
    named = shot.name if output.suffix == shot.first.suffix else Path(shot.name).with_suffix(output.suffix).name
    if os.path.exists(output.parent / f"{named}.poise.json"):
        return f"{output} has a sidecar, so it is a source; choose another folder for --out"
    return None


class _Followed:
    """Follows the links in the folder of a path, once for each folder: what a write to the path replaces."""

    def __init__(self) -> None:
        self._folders: dict[str, str] = {}

    def __call__(self, path: Path) -> str:
        folder, name = os.path.split(path)
        if folder not in self._folders:
            self._folders[folder] = os.path.realpath(folder)
        return os.path.join(self._folders[folder], name)
