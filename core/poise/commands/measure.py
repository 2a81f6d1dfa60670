"""`poise measure`: readings of shots at full resolution; of a sequence, its first frame."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from poise.commands.arguments import AS_JSON, PATHS, SIDECARS
from poise.commands.output import Report, data, shown
from poise.commands.shots import Found, encoding_of, found, readings
from poise.commands.table import level, table
from poise.correction import NEUTRAL
from poise.errors import FileError, PoiseError

if TYPE_CHECKING:
    from poise.frames import Frame
    from poise.scopes import Readings

HEAD = ("file", "depth", "black", "median", "white", "crushed", "clipped", "bottom", "middle", "top", "cast", "sat")


@click.command("measure")
@PATHS
@click.option("--corrected", is_flag=True, help="Measure what apply would write.")
@SIDECARS
@AS_JSON
def command(paths: tuple[Path, ...], corrected: bool, sidecars: Path | None, as_json: bool) -> None:
    """Print readings of shots, at full resolution.

    Levels and shares are per cent of full signal. Bottom, middle and top are the spread between red, green and blue at
    black, median and white. Of a sequence, the first frame is measured.

    Example: poise measure day --corrected
    """
    report = Report()
    entries: list[dict[str, Any]] = []
    rows: list[list[str]] = []
    for one in found(paths, report, sidecars=sidecars):
        try:
            frame, result = measured(one, corrected)
        except FileError as fault:
            report.fault(fault.path, fault.reason)
        except PoiseError as fault:
            report.fault(one.path, str(fault))
        else:
            entries.append(_entry(one, frame, result))
            rows.append(_row(one, frame, result))
    if as_json:
        data(entries)
    elif rows:
        click.echo(table(HEAD, rows))
    report.end()


def measured(one: Found, corrected: bool) -> "tuple[Frame, Readings]":
    """The first frame of a shot and its readings.

    Raises:
        PoiseError: it can't be read, or can't be corrected so.
    """
    from poise.frames import read

    frame = read(one.shot.first)
    correction = one.sidecar.correction if corrected and one.sidecar else NEUTRAL
    return frame, readings(frame, encoding_of(one.sidecar, frame), correction)


def _entry(one: Found, frame: "Frame", result: "Readings") -> dict[str, Any]:
    return {
        "file": str(one.path),
        "frames": len(one.shot.files),
        "width": frame.width,
        "height": frame.height,
        "depth": frame.depth.value,
        "readings": result.to_json(),
    }


def _row(one: Found, frame: "Frame", result: "Readings") -> list[str]:
    luma, spread = result.luma, result.spread
    levels = (luma.black, luma.median, luma.white, luma.crushed, luma.clipped, spread.bottom, spread.middle, spread.top)
    cast = f"{result.cast.hue} {level(result.cast.amount)}"
    return [shown(one.path), frame.depth.value, *map(level, levels), cast, level(result.saturation)]
