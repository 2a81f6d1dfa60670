"""`poise auto`: a starting point for each shot, measured on the frame that it is judged on."""

from pathlib import Path

import click

from poise.commands.arguments import PATHS, SIDECARS
from poise.commands.output import Report, shown
from poise.commands.shots import Found, encoding_of, found
from poise.correction import NEUTRAL, Correction
from poise.errors import FileError, PoiseError


@click.command("auto")
@PATHS
@click.option("--again", is_flag=True, help="Also replace corrections that were made by hand.")
@SIDECARS
def command(paths: tuple[Path, ...], again: bool, sidecars: Path | None) -> None:
    """Write a starting point for each shot.

    Sets black and white point, neutral balance and saturation from what is measured, and says what it did and why it
    held back. A correction that was made by hand stays, unless --again.

    Example: poise auto day
    """
    report = Report()
    decided = 0
    for one in found(paths, report, sidecars=sidecars):
        reason = kept(one, again)
        if reason:
            report.passed_over(one.path, reason)
            continue
        try:
            correction, notes = starting_point(one)
        except FileError as fault:
            report.fault(fault.path, fault.reason)
        except PoiseError as fault:
            report.fault(one.path, str(fault))
        else:
            decided += 1
            click.echo(f"{shown(one.path)}: {summary(correction)}")
            for note in notes:
                click.echo(f"  {note}")
    report.need(decided + len(report.faults), "nothing to do: every shot was passed over")
    report.end()


def kept(one: Found, again: bool) -> str | None:
    """Why a shot's decision stays as it is, or None."""
    sidecar = one.sidecar
    if sidecar is None or again:
        return None
    if sidecar.state in ("held", "skipped"):
        return f"{sidecar.state}; replace it with --again"
    if sidecar.hand and sidecar.correction != NEUTRAL:
        return "its correction was made by hand; replace it with --again"
    return None


def starting_point(one: Found) -> tuple[Correction, tuple[str, ...]]:
    """Solves one shot and writes its sidecar; returns the correction and what the solver says about it.

    Raises:
        PoiseError: the picture can't be read or solved, or the sidecar can't be written.
    """
    from poise.commands.decisions import decide
    from poise.frames import read
    from poise.solve import auto

    frame = read(one.file)
    solution = auto(frame.colour, encoding_of(one.sidecar, frame), frame.depth)
    decide(one, solution.correction, hand=False)
    before = one.sidecar.correction if one.sidecar else NEUTRAL
    gone = before.mattes or before.curves != NEUTRAL.curves
    dropped = ("the mattes and curves that were there are gone: a starting point has none",) if gone else ()
    return solution.correction, (*solution.notes, *dropped)


def summary(correction: Correction) -> str:
    """What a correction changes, in one line.

    Example:
        >>> summary(NEUTRAL)
        'nothing to change'
    """
    light, levels = correction.light, correction.levels
    parts = [
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
