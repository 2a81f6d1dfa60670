"""`poise match`: matches balance and saturation of shots to a reference, measured on the judged frame of each."""

import dataclasses
import math
import os
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from poise.commands.shared.options import AS, AS_JSON, PATHS, SIDECARS, TIME_LIMIT, WORKERS
from poise.commands.shared.output import Report, data, problem, shown
from poise.commands.shared.pooled import done
from poise.commands.shared.shots import Found, encoding_of, found
from poise.correction import NEUTRAL, Correction, Encoding
from poise.correction.reading import file_under
from poise.errors import FileError, PoiseError, UsageError
from poise.frames.scan import scan
from poise.frames.shots import Problem

if TYPE_CHECKING:
    from poise.frames import Frame
    from poise.solve import Distribution, Matched

BY_HAND = "on top of the correction that was made by hand"


def _strength(context: click.Context, option: click.Parameter, value: float) -> float:
    if not 0 <= value <= 1:  # a FloatRange lets NaN through
        raise click.BadParameter(f"{value:g} is not in the range 0 to 1")
    return value


@click.command("match")
@PATHS
@click.option("--to", metavar="FRAME", required=True, type=click.Path(path_type=Path), help="The reference: a picture.")
@click.option(
    "--strength", metavar="S", default=1.0, callback=_strength, help="How much of the way, 0 to 1; 1 if not given."
)
@click.option("--again", is_flag=True, help="Also match shots that are held or skipped.")
@AS
@WORKERS
@TIME_LIMIT
@SIDECARS
@AS_JSON
def command(
    paths: tuple[Path, ...],
    to: Path,
    strength: float,
    again: bool,
    form: str,
    workers: int | None,
    time_limit: float,
    sidecars: Path | None,
    as_json: bool,
) -> None:
    """Match the levels of shots to those of a reference frame.

    FRAME is taken under its own correction; FRAME itself among PATH is passed over. The judged frame of a sequence with
    keyframes gets a keyframe. Slope, offset, power and saturation change, so that red, green and blue are distributed
    as in FRAME; light, levels, tone, curves and mattes stay. A correction that was made by hand is where it starts
    from, and the line says so. Where the two show different things, only black, white and neutral are matched, and a
    shot that nothing brings nearer is left alone.

    With --as cdl what else the shot has becomes slope, offset, power and saturation as well, as close as they reach,
    so that poise export --to cdl hands it over exactly; a line says how close.

    Printed is the mean parade difference from FRAME, in per cent of full signal, before and after.

    Example: poise match day --to day/quay_02.tif
    """
    report = Report()
    shots = found(paths, report, sidecars=sidecars)
    owner = _owner(to, shots, sidecars)
    reference, encoding = _reference(to, owner)
    entries: list[dict[str, Any]] = []
    jobs: list[Job] = []
    for one in shots:
        if one is owner:
            report.passed_over(one.path, "the reference is of this shot")
            continue
        if one.sidecar is not None and one.sidecar.state in ("held", "skipped") and not again:
            report.passed_over(one.path, f"{one.sidecar.state}; match it with --again")
            continue
        jobs.append(Job(one, reference, encoding, strength, form == "cdl"))
    for job, (result, changed) in done(matched_or_not, jobs, workers or os.cpu_count() or 1, time_limit, report):
        entries.append(_entry(job.one, result, changed))
        if not as_json:
            click.echo(_line(job.one, result))
    report.need(len(entries) + len(report.faults), "nothing to do: every shot was passed over")
    if as_json:
        data(entries)
    report.end()


@dataclass(frozen=True)
class Job:
    """One shot to match: the measured reference, its encoding, how far to go, whether to stay within ten numbers."""

    one: Found
    reference: "Distribution"
    encoding: Encoding
    strength: float
    ten: bool

    @property
    def path(self) -> Path:
        return self.one.path


def matched_or_not(job: Job) -> "tuple[Matched, bool] | Problem":
    """As `matched`, but return a fault instead of raising it, so that it can run in another process."""
    try:
        return matched(job.one, job.reference, job.encoding, job.strength, job.ten)
    except Exception as fault:
        return problem(job.one.path, fault)


def matched(
    one: Found, reference: "Distribution", encoding: Encoding, strength: float, ten: bool = False
) -> "tuple[Matched, bool]":
    """Match one shot; write its sidecar if the correction changed; return the result and whether it changed.

    Args:
        encoding: of the reference.
        ten: bring what the shot has within slope, offset, power and saturation first.

    Raises:
        PoiseError: the picture can't be read, its work code is not the reference's, or the sidecar can't be written.
    """
    from poise.commands.shared.decisions import decide
    from poise.frames import read

    frame = read(one.file)
    own = encoding_of(one.sidecar, frame, one.folder)
    comparable(own, encoding)
    present = one.correction
    result = solved(frame, present, own, reference, strength, ten)
    changed = result.correction != present
    if changed:
        # what a person made stays theirs, so that no later starting point replaces it unasked
        decide(one, result.correction, by_hand=one.corrected_by_hand, at=one.keyframe)
    return result, changed


def solved(
    frame: "Frame", present: Correction, encoding: Encoding, reference: "Distribution", strength: float, ten: bool
) -> "Matched":
    """What match makes of a frame under its correction; with `ten`, of that within slope, offset, power and saturation.

    Raises:
        PoiseError: the encoding is unknown, or no CDL holds it or a matte.
    """
    from poise.solve import as_cdl, match

    told = ""
    if ten:
        present, told = as_cdl(frame.colour, present, encoding, frame.depth)
    result = match(frame.colour, present, encoding, frame.depth, reference, strength)
    return dataclasses.replace(result, note=f"{result.note}; what it had {told}") if told else result


def comparable(own: Encoding, reference: Encoding) -> None:
    """Whether two work codes can be compared.

    Raises:
        PoiseError: they can't.
    """
    mine, its = (f"{encoding.work}, {encoding.work_primaries}" for encoding in (own, reference))
    if mine != its:
        raise PoiseError(f"it is delivered in {mine}, the reference in {its}; give both the same")


def distributed(frame: "Frame", encoding: Encoding, correction: Correction) -> "Distribution":
    """The distribution of a whole frame in work code under a correction.

    Raises:
        PoiseError: the engine can't apply this correction to this frame.
    """
    from poise.engine import compile_engine
    from poise.solve import distribution

    work = compile_engine(correction, encoding, frame.depth, output="work").apply(frame.colour)
    return distribution(work if work.dtype.kind == "f" else work / frame.depth.maximum)


def _owner(frame: Path, shots: Sequence[Found], sidecars: Path | None) -> Found | None:
    """The shot that a frame is of: among those at hand, else in its folder; None where there is no such file."""
    from poise.sidecar import load_or_none

    real = frame.resolve()

    def holds(files: Sequence[Path]) -> bool:
        return any(file.name == frame.name and file.resolve() == real for file in files)

    for one in shots:
        if holds(one.shot.files):
            return one
    if not frame.is_file():
        return None
    alike = [path for path in frame.parent.iterdir() if path.suffix == frame.suffix and path.is_file()]
    for shot in scan(alike, sidecars=sidecars).shots:
        if holds(shot.files):
            try:
                return Found(shot, load_or_none(shot))
            except FileError as fault:
                raise UsageError(str(fault)) from None
    return None


def _place(owner: Found, frame: Path) -> int:
    """The index of a frame among the files of its shot."""
    return next(place for place, file in enumerate(owner.shot.files) if file.name == frame.name)


def _reference(frame: Path, owner: Found | None) -> "tuple[Distribution, Encoding]":
    """The distribution of a frame under its shot's correction, and its encoding.

    Raises:
        UsageError: it can't be read, or not be corrected so.
    """
    from poise.frames import read

    try:
        sidecar = owner.sidecar if owner else None
        picture = read(file_under(frame, sidecar.encoding if sidecar else None))
        encoding = encoding_of(sidecar, picture, owner.folder if owner else frame.parent)
        correction = owner.delivered(_place(owner, frame)) if owner else NEUTRAL
        return distributed(picture, encoding, correction), encoding
    except FileError as fault:
        raise UsageError(str(fault)) from None
    except PoiseError as fault:
        raise UsageError(str(FileError(frame, str(fault)))) from None


def _entry(one: Found, result: "Matched", changed: bool) -> dict[str, Any]:
    def number(value: float) -> float | None:
        return round(value, 4) if math.isfinite(value) else None

    return {
        "file": str(one.path),
        "before": number(result.before),
        "after": number(result.after),
        "changed": changed,
        "by_hand": one.corrected_by_hand,
        "note": result.note,
    }


def _line(one: Found, result: "Matched") -> str:
    hand = f", {BY_HAND}" if one.corrected_by_hand and result.after != result.before else ""
    return f"{shown(one.path)}: {line(result)}{hand}"


def line(result: "Matched") -> str:
    """How far a shot was from the reference and is now, and what was done.

    Example:
        mean parade difference 9.2 -> 3.3 %, slope, offset and power
    """
    from poise.chain.matte import active

    if not math.isfinite(result.before):
        return result.note
    without = ", measured without its mattes" if active(result.correction.mattes) else ""
    return f"mean parade difference {result.before:.1f} -> {result.after:.1f} %, {result.note}{without}"
