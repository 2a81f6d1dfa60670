"""`poise steady`: removes flicker from sequences by a gain in light for each frame, which `apply` uses."""

import os
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from poise.commands.shared.options import AS_JSON, PATHS, SIDECARS, TIME_LIMIT, WORKERS
from poise.commands.shared.output import Report, data, shown
from poise.commands.shared.shots import Found, found
from poise.errors import FileError, PoiseError

if TYPE_CHECKING:
    from poise.commands.steadying import Steadied
    from poise.scopes import Drift

CAUTION = (
    "pictures without flicker may still flash; this is no test of safety for photosensitive viewers (see ITU-R BT.1702)"
)
NAMED = 8


@click.command("steady")
@PATHS
@click.option(
    "--strength",
    type=click.FloatRange(0, 1),
    default=1.0,
    show_default=True,
    help="Share of the flicker to remove; 0 deletes the gains.",
)
@click.option(
    "--over",
    type=click.FloatRange(3, 10000),
    default=25.0,
    show_default=True,
    metavar="FRAMES",
    help="Keep changes that are slower than this.",
)
@click.option(
    "--what",
    type=click.Choice(("level", "colour")),
    default="level",
    show_default=True,
    help="colour: also flicker of red and blue relative to green.",
)
@click.option("--again", is_flag=True, help="Include shots that are held or skipped.")
@WORKERS
@TIME_LIMIT
@SIDECARS
@AS_JSON
def command(
    paths: tuple[Path, ...],
    strength: float,
    over: float,
    what: str,
    again: bool,
    workers: int | None,
    time_limit: float,
    sidecars: Path | None,
    as_json: bool,
) -> None:
    """Remove flicker from sequences.

    Each frame gets a gain in light that brings its level to a smooth curve over the sequence. Frames are compared block
    by block, and blocks where something moves are left out. Fades, steps and cuts are kept. No gain exceeds one stop,
    or crushes or clips more than 2 % of a frame. The gains are saved in the sidecar; apply, check, report and
    measure --corrected use them in addition to the correction. A frame that is added later has no gain, and is
    reported.

    The command prints the flicker of the corrected frames in per cent of full signal, without and with the gains.

    Caution: less flicker does not mean that pictures are safe for viewers with photosensitive epilepsy; see
    Recommendation ITU-R BT.1702.

    Example: poise steady day --over 50

    Example: poise steady day --what colour
    """
    from poise.commands.steadying import Wish, steadied_run

    report = Report()
    entries: list[dict[str, Any]] = []
    wish = Wish(over, strength, what == "colour")
    for one in found(paths, report, sidecars=sidecars):
        if reason := _left_out(one, again):
            report.passed_over(one.path, reason)
            continue
        try:
            encoding = one.decision.encoding if one.decision else None
            result = steadied_run(one, encoding, wish, workers or os.cpu_count() or 1, time_limit)
            _save(one, result)
        except FileError as fault:
            report.fault(fault.path, fault.reason)
            continue
        except PoiseError as fault:
            report.fault(one.path, str(fault))
            continue
        for problem in result.problems:
            report.fault(*problem)
        entries.append(_entry(one, result))
        if not as_json:
            click.echo("\n".join(_lines(one, result)))
    report.need(len(entries) + len(report.faults), "nothing to do: every shot was passed over")
    if as_json:
        data(entries)
    elif entries:
        click.echo(f"caution: {CAUTION}", err=True)
    report.end()


def _left_out(one: Found, again: bool) -> str | None:
    if len(one.shot.numbers) < 3:
        return "a still has no flicker" if not one.shot.numbers else "it has fewer than three frames"
    if one.sidecar and one.sidecar.state in ("held", "skipped") and not again:
        return f"{one.sidecar.state}; steady it with --again"
    return None


def _save(one: Found, result: "Steadied") -> None:
    from poise.commands.shared.decisions import save_steady

    if result.steady != (one.sidecar.steady if one.sidecar else None):
        save_steady(one, result.steady)


def _lines(one: Found, result: "Steadied") -> list[str]:
    before, after = result.before, result.after
    if before is None or after is None:
        return [f"{shown(one.path)}: fewer than two frames can be measured"]
    levels = (
        f"flicker {before.rms:.2f} -> {after.rms:.2f} % rms, "
        f"worst {abs(before.peak.amount):.2f} % at {before.peak.number} -> "
        f"{abs(after.peak.amount):.2f} % at {after.peak.number}, "
        f"drift {before.drift[0][1]:+.1f} -> {after.drift[0][1]:+.1f} %, "
        f"frames that jump {len(before.jumps)} -> {len(after.jumps)}"
    )
    lines = [f"{shown(one.path)}: {levels}"]
    lines += [f"  frame {number}: {reason}" for number, reason in result.not_helped[:NAMED]]
    if len(result.not_helped) > NAMED:
        lines.append(f"  and {len(result.not_helped) - NAMED} more frames")
    return lines


def _entry(one: Found, result: "Steadied") -> dict[str, Any]:
    def measured(drift: "Drift | None") -> dict[str, Any] | None:
        return None if drift is None else drift.to_json()

    return {
        "file": str(one.path),
        "steadied": result.steady is not None,
        "before": measured(result.before),
        "after": measured(result.after),
        "not_helped": [{"frame": number, "reason": reason} for number, reason in result.not_helped],
    }
