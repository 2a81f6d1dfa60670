"""`poise show`: scopes, picture and readings of frames, printed once."""

import os
import shutil
import sys
from collections.abc import Sequence
from pathlib import Path

import click

from poise.commands.shared.options import SIDECARS
from poise.commands.shared.output import Report
from poise.commands.shared.shots import Found, found
from poise.delivery.limits import SETS, Limits, load
from poise.errors import FileError, PoiseError, UsageError
from poise.frames import Shot, scan
from poise_tui.draw.capability import Capability, capability

NARROWEST = 40


class _NothingToShow(FileError, UsageError):
    """A path that was passed over, when there is no picture in any other path."""


@click.command()
@click.argument("paths", nargs=-1, required=True, metavar="PATH...", type=click.Path(path_type=Path))
@click.option("--corrected", is_flag=True, help="Show the picture with the correction of its sidecar.")
@SIDECARS
@click.option("--reel", is_flag=True, help="Show all shots side by side instead, and the outliers.")
@click.option("--limits", default=SETS[0], metavar="SET", help="Limits of delivery, as in poise check.")
@click.option("--frame", type=int, metavar="N", help="Frame of a sequence; by default its judged frame.")
@click.option(
    "--width", type=click.IntRange(NARROWEST, 1000), metavar="N", help="Columns; by default those of the terminal."
)
@click.option("--height", type=click.IntRange(4, 200), metavar="N", help="Rows of each scope.")
@click.option("--ascii", "plain", is_flag=True, help="Draw with plain characters.")
@click.option("--colour", is_flag=True, help="Send colours even if the output is not a terminal.")
def command(
    paths: tuple[Path, ...],
    corrected: bool,
    sidecars: Path | None,
    reel: bool,
    limits: str,
    frame: int | None,
    width: int | None,
    height: int | None,
    plain: bool,
    colour: bool,
) -> None:
    """Print waveform, parade, vectorscope, picture, readings and delivery faults of frames, or the reel.

    Example: poise show quay_01.tif --corrected

    Example: poise show day --reel
    """
    held_to, able = load(limits), _able(width, plain, colour)
    if reel:
        _reel(paths, sidecars, held_to, able, height or min(max(able.height - 8, 12), 30))
        return
    listing = scan(paths, sidecars=sidecars)
    rows = height or min(max((able.height - 6) // 2, 9), 20)
    kind = FileError if listing.shots else _NothingToShow
    faults: list[PoiseError] = [kind(path, reason) for path, reason in listing.problems]
    for shot in listing.shots:
        try:
            click.echo(_sheet(shot, frame, corrected, held_to, able, rows), nl=False, color=True)
        except FileError as fault:
            faults.append(fault)
    for earlier in faults[:-1]:
        click.echo(f"poise: {earlier}", err=True)
    if faults:
        raise faults[-1]


def _able(width: int | None, plain: bool, colour: bool) -> Capability:
    out = sys.stdout
    found = capability(os.environ, out.isatty(), shutil.get_terminal_size(), out.encoding or "ascii", colour)
    # One column is left free, for terminals that wrap as soon as the last one is written.
    columns = width or max(found.width - out.isatty(), NARROWEST)
    return Capability(columns, found.height, found.colours, found.unicode and not plain)


def _sheet(shot: Shot, frame: int | None, corrected: bool, limits: Limits, able: Capability, rows: int) -> str:
    from poise_tui.printing.frame import render, subject

    return render(subject(shot, _file(shot, frame), corrected, limits), able, rows)


def _reel(paths: Sequence[Path], sidecars: Path | None, limits: Limits, able: Capability, rows: int) -> None:
    """Prints the reel, and reports the shots that can't be read.

    Raises:
        UsageError: there are no shots.
        click.exceptions.Exit: with code 1, if some can't be read.
    """
    from poise.commands.shared.progress import with_progress
    from poise.sidecar.decision import NOT_DELIVERED
    from poise_tui.printing.reel import looked_at, render_reel

    report = Report()
    shots = found(paths, report, sidecars=sidecars)
    report.need(len(shots), "no shots to show")
    columns = list(with_progress(looked_at(shots), len(shots), "shots", "show"))
    left = [one.sidecar is not None and one.sidecar.state in NOT_DELIVERED for one in shots]
    click.echo(render_reel(columns, left, able, rows, limits.threshold), nl=False, color=True)
    for one in columns:
        if one.fault is not None:
            report.fault(one.fault.path, one.fault.reason)
    report.end()


def _file(shot: Shot, frame: int | None) -> Path:
    from poise.sidecar import load_or_none

    if frame is None:
        return Found(shot, load_or_none(shot)).file
    if frame not in shot.numbers:
        held = "it is a still" if not shot.numbers else f"it has {shot.numbers[0]} to {shot.numbers[-1]}"
        raise UsageError(f"{shot.name}: no frame {frame}; {held}")
    return shot.files[shot.numbers.index(frame)]
