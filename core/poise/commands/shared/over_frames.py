"""Readings over the frames of a sequence, for `poise measure --frames`."""

import sys
from contextlib import nullcontext
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import click

from poise.commands.shared.output import Report, shown
from poise.commands.shared.shots import Found, encoding_of, readings
from poise.correction import NEUTRAL
from poise.errors import FileError, PoiseError

if TYPE_CHECKING:
    from poise.scopes import Drift, Readings


class Reading(NamedTuple):
    """One frame of a sequence, and what was read off it."""

    number: int
    file: Path
    depth: str
    readings: "Readings"


def every(context: click.Context, option: click.Parameter, value: str | None) -> int | None:
    """Every how many frames: 1 for `all`, None where the option is not given."""
    if value is None:
        return None
    if value == "all":
        return 1
    if not (value.isascii() and value.isdecimal() and int(value)):
        raise click.BadParameter(f"{value!r} is neither all nor a number such as 8; before a path, say --frames all")
    return int(value)


FRAMES = click.option(
    "--frames",
    metavar="all|N",
    is_flag=False,
    flag_value="all",
    callback=every,
    help="Measure all frames of a sequence, or every Nth.",
)


def over(one: Found, step: int, corrected: bool, report: Report) -> list[Reading]:
    """The readings of every so many frames; one that can't be read is told, and left out."""
    from poise.frames import read

    found: list[Reading] = []
    faults: list[tuple[Path, str]] = []
    correction = one.sidecar.correction if corrected and one.sidecar else NEUTRAL
    frames = list(zip(one.shot.numbers, one.shot.files, strict=True))[::step]
    seen = sys.stderr.isatty()
    with click.progressbar(frames, label="measure", file=sys.stderr) if seen else nullcontext(frames) as bar:
        for number, file in bar:
            try:
                frame = read(file)
                result = readings(frame, encoding_of(one.sidecar, frame, one.folder), correction)
            except FileError as fault:
                faults.append((fault.path, fault.reason))
            except PoiseError as fault:
                faults.append((file, str(fault)))
            else:
                found.append(Reading(number, file, frame.depth.value, result))
    for path, reason in faults:
        report.fault(path, reason)
    return found


def drift_of(found: list[Reading]) -> "Drift | None":
    """What the frames do; None for fewer than two, and where nothing in them can be measured."""
    import numpy as np

    from poise.scopes.course import Course, levels_of
    from poise.scopes.drift import drift

    if not found:
        return None
    return drift(Course(np.array([one.number for one in found]), np.array([levels_of(one.readings) for one in found])))


def entry(found: list[Reading], step: int) -> dict[str, Any]:
    """What `--json` tells beside the shot's own readings."""
    drift = drift_of(found)
    return {
        "every": step,
        "over": [{"frame": one.number, "file": str(one.file), "readings": one.readings.to_json()} for one in found],
        "drift": drift.to_json() if drift else None,
    }


def line(one: Found, found: list[Reading], step: int) -> str:
    """What stands below the table about drift and flicker."""
    from poise.scopes.words import told

    drift = drift_of(found)
    said = "; ".join(told(drift)) if drift else "fewer than two frames, so no drift"
    return f"{shown(one.path)}  {f'one frame in {step}: ' if step > 1 else ''}{said}"
