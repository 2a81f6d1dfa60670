"""`poise auto`: writes a starting point for each shot, measured on its judged frame."""

import dataclasses
import os
from collections.abc import Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
import msgspec

from poise.commands.shared.decisions import reason_to_keep
from poise.commands.shared.one_light import Lit, share_light
from poise.commands.shared.options import AS, AS_JSON, PATHS, SIDECARS, TIME_LIMIT, WORKERS
from poise.commands.shared.output import Report, data, problem, say, shown, some
from poise.commands.shared.pooled import done
from poise.commands.shared.shots import Found, encoding_of, found
from poise.correction import NEUTRAL, Correction, Encoding
from poise.delivery.fault import brief
from poise.delivery.limits import Limits, load
from poise.errors import FileError, PoiseError, UsageError
from poise.frames.shots import Problem
from poise.sidecar.decision import SURE

if TYPE_CHECKING:
    from poise.frames import Frame
    from poise.solve import Solution
    from poise.solve.illuminant import Illuminant


@click.command("auto")
@PATHS
@click.option("--again", is_flag=True, help="Also replace corrections that were made by hand.")
@click.option(
    "--chart", "look", is_flag=True, help="Look for a chart of 24 patches in each shot, and prefer its result."
)
@click.option("--together", is_flag=True, help="The shots stand in one light: find it in all of them, and share it.")
@click.option("--at", metavar="FRAME", type=click.IntRange(0), help="Solve this frame of each sequence, as a keyframe.")
@AS
@WORKERS
@TIME_LIMIT
@SIDECARS
@AS_JSON
def command(
    paths: tuple[Path, ...],
    again: bool,
    look: bool,
    together: bool,
    at: int | None,
    form: str,
    workers: int | None,
    time_limit: float,
    sidecars: Path | None,
    as_json: bool,
) -> None:
    """Write a starting point for each shot.

    Sets flare, neutral balance, black and white point and saturation from measurements, and says what it did and where
    it held back. A correction made by hand and keyframes are kept, unless --again.

    The confidence is the estimated probability that the light was found to within 3 degrees. It is low where estimators
    of different kinds disagree, where nothing is white or grey, or where everything has one colour. The correction is
    then only partial, and the parade should decide.

    With --together shots of one scene share one light, which all of them tell better than each alone; each keeps its
    own flare and levels. A shot that disagrees with the rest is named, and keeps its own light.

    With --at, the frame of that number of each sequence gets a keyframe. Between keyframes, corrections are
    interpolated.

    With --as cdl a shot gets slope, offset, power and saturation alone, as close to the full correction as they reach,
    and a line says how close; poise export --to cdl then hands it over exactly.

    Example: poise auto day
    """
    if together and look:
        raise UsageError("--together and --chart exclude each other: a chart tells the light of its shot alone")
    if at is not None and look:
        raise UsageError("--at and --chart exclude each other: a chart is looked for in the judged frame")
    report = Report()
    entries: list[dict[str, Any]] = []
    jobs: list[Found] = []
    processes = workers or os.cpu_count() or 1
    for one in found(paths, report, sidecars=sidecars):
        reason = reason_to_keep(one, again, at)
        if at is not None and at not in one.shot.numbers:
            reason = f"there is no frame {at}" if one.shot.numbers else "a still has no keyframes"
        if reason:
            report.passed_over(one.path, reason)
        else:
            jobs.append(dataclasses.replace(one, at=at))
    lit = [Lit(one, None) for one in jobs]
    if together:
        lit, _, lines = share_light(jobs, report, processes, time_limit)
        for line in lines:
            click.echo(line, err=as_json)
    work = partial(by_chart_or_not if look else starting_point_or_not, ten=form == "cdl")
    for job, solution in done(work, lit, processes, time_limit, report):
        entries.append(entry(job.one, solution))
        if not as_json:
            click.echo(f"{shown(job.path)}: {summary(solution.correction)}")
            for note in solution.notes:
                click.echo(f"  {note}")
    _say_unsure(entries)
    report.need(len(entries) + len(report.faults), "nothing to do: every shot was passed over")
    if as_json:
        data(entries)
    report.end()


def _say_unsure(entries: Sequence[dict[str, Any]]) -> None:
    """Name the shots whose light was found with less certainty than `SURE`, the least certain first."""
    unsure = sorted(
        (one for one in entries if (one["confidence"] or 100) < 100 * SURE), key=lambda one: one["confidence"]
    )
    if unsure:
        say(f"under {SURE:.0%} sure of the light: {some([one['file'] for one in unsure])}; look at these first")


def starting_point(one: Found, ten: bool = False, light: "Illuminant | None" = None) -> "Solution":
    """Solve one shot and write its sidecar; return the correction, how sure it is, and what the solver says.

    Args:
        light: the light, where other shots tell it; None looks for it in this one.
        ten: stay within slope, offset, power and saturation.

    Raises:
        PoiseError: the picture can't be read or solved, or the sidecar can't be written.
    """
    from poise.commands.shared.decisions import decide, within
    from poise.frames import read
    from poise.solve import auto

    within(one)
    frame = read(one.file)
    encoding = encoding_of(one.sidecar, frame, one.folder)
    solution = auto(frame.colour, encoding, frame.depth, light)
    if ten:
        solution = within_cdl(solution, frame, encoding)
    by_hand = one.at is not None and one.sidecar is not None and bool(one.sidecar.keyframes) and one.sidecar.by_hand
    decide(one, solution.correction, by_hand=by_hand, certainty=solution.confidence, at=one.at)
    before = one.correction if one.at is None else NEUTRAL
    gone = before.mattes or before.curves != NEUTRAL.curves
    notes = [*solution.notes]
    if gone:
        notes.append("the mattes and curves that were there are gone: a starting point has none")
    if one.at is None and one.sidecar and one.sidecar.keyframes:
        notes.append("its keyframes are gone: a starting point is for all frames; set keyframes with --at")
    if left := left_beyond(frame, solution.correction, encoding, load()):
        notes.append(left)
    return dataclasses.replace(solution, notes=tuple(notes))


def left_beyond(frame: "Frame", correction: Correction, encoding: Encoding, limits: Limits) -> str:
    """What a correction leaves beyond delivery limits that a correction could mend, by a sample; empty if nothing."""
    from poise.delivery.examine import examine
    from poise.delivery.faults import faults_of
    from poise.frames.proxy import proxy

    small = dataclasses.replace(frame, pixels=proxy(frame.pixels), views=())
    faults = faults_of("", examine(small, correction, encoding, limits), limits)
    beyond = [brief(fault) for fault in faults if not fault.of_format and not fault.caution]
    return f"left beyond {limits.name}: {', '.join(beyond)}" if beyond else ""


def within_cdl(solution: "Solution", frame: "Frame", encoding: Encoding) -> "Solution":
    """A solution within slope, offset, power and saturation; a note says how close that is.

    Raises:
        PoiseError: no CDL holds this picture's encoding, or a matte.
    """
    from poise.solve import as_cdl

    correction, note = as_cdl(frame.colour, solution.correction, encoding, frame.depth)
    return dataclasses.replace(solution, correction=correction, notes=(*solution.notes, *([note] if note else [])))


def by_chart(one: Found, ten: bool = False) -> "Solution | None":
    """As `starting_point`, from a chart in the shot; None, and nothing written, if there is none.

    Nothing is written either where the chart would bring the shot no closer to its values.

    Raises:
        PoiseError: the picture can't be read, or the sidecar can't be written.
    """
    from poise.commands.chart import charted, no_better
    from poise.solve import Solution

    try:
        result, written = charted(one, None, write=True, ten=ten)
    except FileError:
        raise
    except PoiseError:
        return None
    note = f"chart found: {result.note}; mean CIEDE2000 {result.before:.2f} -> {result.after:.2f}"
    if not written:
        return Solution(one.correction, (f"{note}; {no_better(result)}",))
    return Solution(result.correction, (note,))


def starting_point_or_not(job: Lit, ten: bool = False) -> "Solution | Problem":
    """As `starting_point`, but return a fault instead of raising it, so that it can run in another process."""
    try:
        return starting_point(job.one, ten, job.light)
    except Exception as fault:
        return problem(job.one.path, fault)


def by_chart_or_not(job: Lit, ten: bool = False) -> "Solution | Problem":
    """As `starting_point_or_not`, from a chart where the shot has one."""
    try:
        return by_chart(job.one, ten) or starting_point(job.one, ten)
    except Exception as fault:
        return problem(job.one.path, fault)


def entry(one: Found, solution: "Solution") -> dict[str, Any]:
    """What was decided about a shot, for JSON: shares in per cent, angles in degrees; no light where none was sought.

    Of the light that was found: red and blue against green, how far off neutral, how much of it is undone, whether all
    is of one colour, how many shots share it, and how far from it each estimator of this shot alone is.
    """
    from poise.solve.illuminant import angle

    found, light = solution.illuminant, None
    if found is not None:
        light = {
            "red": round(float(found.light[0]), 4),
            "blue": round(float(found.light[2]), 4),
            "off": round(angle(found.light), 2),
            "undone": round(100 * found.share, 1),
            "one_colour": found.one_colour,
            "apart": {name: round(angle(found.light, estimate), 2) for name, estimate in found.estimates.items()},
        }
        light |= {"shots": found.shots} if found.shots > 1 else {}
    return {
        "file": str(one.path),
        "correction": msgspec.to_builtins(solution.correction),
        "confidence": None if found is None else round(100 * found.confidence, 1),
        "light": light,
        "notes": list(solution.notes),
    }


def summary(correction: Correction) -> str:
    """What a correction changes, in one line.

    Example:
        >>> summary(NEUTRAL)
        'nothing to change'
    """
    light, levels = correction.light, correction.levels
    parts = [
        (light.flare, NEUTRAL.light.flare, "flare " + " ".join(f"{value:.3f}" for value in light.flare)),
        (light.exposure, 0, f"exposure {light.exposure:+.2f} stops"),
        (light.warmth, 0, f"warmth {light.warmth:+.0f} mired"),
        (light.magenta, 0, f"magenta {light.magenta:+.1f} CC"),
        (correction.balance, NEUTRAL.balance, "balance"),
        (levels.black, 0, f"black point {levels.black:.3f}"),
        (levels.white, 1, f"white point {levels.white:.3f}"),
        (levels.contrast, 1, f"contrast {levels.contrast:.2f}"),
        (correction.tone, NEUTRAL.tone, "tone"),
        (correction.curves, NEUTRAL.curves, "curves"),
        (correction.saturation, 1, f"saturation {correction.saturation:.2f}"),
    ]
    return ", ".join(text for value, neutral, text in parts if value != neutral) or "nothing to change"
