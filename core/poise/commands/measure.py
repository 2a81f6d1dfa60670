"""`poise measure`: prints readings of shots at full resolution; of a sequence, those of the judged frame."""

import os
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
from msgspec.structs import asdict

from poise.batch.pool import in_order
from poise.batch.worker_process import LostJob
from poise.chain.source import resolve_source
from poise.commands.shared.mattes import covered
from poise.commands.shared.options import AS_JSON, FRAMES, PATHS, SIDECARS, TIME_LIMIT, WORKERS
from poise.commands.shared.output import Report, data, problem, shown
from poise.commands.shared.over_frames import Reading, entry, line
from poise.commands.shared.progress import with_progress
from poise.commands.shared.shots import Found, found, readings
from poise.commands.shared.table import level, table
from poise.correction import NEUTRAL, Correction, Encoding, Matte, default_encoding
from poise.errors import one_line
from poise.frames.shots import Problem
from poise.frames.timing import UNTIMED, Timing

if TYPE_CHECKING:
    from poise.scopes import Coverage, Readings

HEAD = ("file", "depth", "black", "median", "white", "crushed", "clipped", "bottom", "middle", "top", "cast", "sat")


@click.command("measure")
@PATHS
@click.option("--corrected", is_flag=True, help="Measure the corrected picture that apply would write.")
@FRAMES
@WORKERS
@TIME_LIMIT
@SIDECARS
@AS_JSON
def command(
    paths: tuple[Path, ...],
    corrected: bool,
    frames: int | None,
    workers: int | None,
    time_limit: float,
    sidecars: Path | None,
    as_json: bool,
) -> None:
    """Print readings of shots, measured at full resolution.

    Levels and shares are in per cent of full signal. Bottom, middle and top are the spread between red, green and blue
    at black, median and white. Of a sequence, the judged frame is measured: the first, unless another was pinned in the
    app.

    With --corrected, a line for each matte says how much of the picture it covers, and how much of that is due to
    denoise and blur spreading it beyond what was keyed. --json also has the number of points of each curve, and the
    largest change that it makes to a value.

    With --frames, all frames of a sequence or every Nth are measured, and a line says how much their levels drift and
    flicker. This is not a test for photosensitive viewers.

    Example: poise measure day --corrected

    Example: poise measure day --frames 8
    """
    report = Report()
    entries: list[dict[str, Any]] = []
    rows: list[list[str]] = []
    lines: list[str] = []
    shots = found(paths, report, sidecars=sidecars)
    looks = [look for number, one in enumerate(shots) for look in _looks(number, one, corrected, frames)]
    results = in_order(measured, looks, workers or os.cpu_count() or 1, time_limit)
    for number, group in groupby(with_progress(results, len(looks), "frames", "measure"), lambda pair: pair[0].shot):
        one, over = shots[number], list[Reading]()
        judged: Measured | None = None
        for look, result in group:
            if look.number is not None and judged is None:
                continue  # the fault of the shot has been reported
            if isinstance(result, LostJob):
                report.fault(look.file, result.reason)
            elif isinstance(result, Problem):
                report.fault(*result)
            elif look.number is None:
                judged = result
            else:
                over.append(Reading(look.number, look.file, result.depth, result.readings))
        if judged is None:
            continue
        for matte, coverage in judged.mattes:
            if matte.on and coverage.far:
                report.note(one.path, f"the matte {matte.name!r} spreads far beyond what was keyed; lower its blur")
        entries.append(_entry(one, judged) | _decided(judged.correction, judged.mattes))
        if frames and one.shot.numbers:
            entries[-1] |= entry(over, frames)
            rows += [_row(each.file, each.depth, each.readings) for each in over]
            lines.append(line(one, over, frames))
        else:
            rows.append(_row(one.path, judged.depth, judged.readings))
        lines += [_line(one, *matte) for matte in judged.mattes]
    if as_json:
        data(entries)
    elif rows:
        click.echo("\n".join([table(HEAD, rows), *lines]))
    report.end()


@dataclass(frozen=True)
class Look:
    """One frame to measure, with everything that a process needs to know.

    Attributes:
        shot: the index of its shot.
        number: the frame number within a sequence; None for the judged frame.
        path: named in fault messages.
        encoding: None for the default of the file.
    """

    shot: int
    number: int | None
    path: Path
    file: Path
    encoding: Encoding | None
    correction: Correction


@dataclass(frozen=True)
class Measured:
    """The measurement of one frame.

    Attributes:
        mattes: each matte with its coverage, in order; empty except for the judged frame.
        timing: its place in time by its header.
    """

    width: int
    height: int
    depth: str
    correction: Correction
    readings: "Readings"
    mattes: "tuple[tuple[Matte, Coverage], ...]" = ()
    timing: Timing = UNTIMED


def _looks(number: int, one: Found, corrected: bool, step: int | None) -> Iterator[Look]:
    encoding = resolve_source(one.sidecar.encoding, one.folder) if one.sidecar else None

    def look(place: int, frame: int | None, path: Path) -> Look:
        correction = one.delivered(place) if corrected else NEUTRAL
        return Look(number, frame, path, one.shot.files[place], encoding, correction)

    yield look(one.judged, None, one.path)
    if step:
        for place in range(0, len(one.shot.numbers), step):
            yield look(place, one.shot.numbers[place], one.shot.files[place])


def measured(look: Look) -> Measured | Problem:
    """Read and measure one frame; returns a `Problem` instead of raising, as it may run in another process."""
    from poise.frames import read

    try:
        frame, correction = read(look.file), look.correction
        encoding = look.encoding or default_encoding(frame.linear, frame.tags)
        result = Measured(
            frame.width, frame.height, frame.depth.value, correction, readings(frame, encoding, correction)
        )
        mattes = (
            ()
            if look.number is not None
            else tuple(
                (matte, covered(correction, index, encoding, frame.colour, frame.depth))
                for index, matte in enumerate(correction.mattes)
            )
        )
        return replace(result, mattes=mattes, timing=frame.timing)
    except Exception as fault:
        return problem(look.path, fault)


def _entry(one: Found, judged: Measured) -> dict[str, Any]:
    return {
        "file": str(one.path),
        "frames": len(one.shot.files),
        **({"frame": one.frame} if one.shot.numbers else {}),
        **_time(judged.timing),
        "width": judged.width,
        "height": judged.height,
        "depth": judged.depth,
        "readings": judged.readings.to_json(),
    }


def _time(timing: Timing) -> dict[str, Any]:
    """Rate and timecode of the judged frame, as far as its header has them."""
    rate = {"rate": round(float(timing.rate), 6)} if timing.rate else {}
    return rate | ({"timecode": timing.timecode} if timing.timecode else {})


def _row(path: Path, depth: str, result: "Readings") -> list[str]:
    luma, spread = result.luma, result.spread
    levels = (luma.black, luma.median, luma.white, luma.crushed, luma.clipped, spread.bottom, spread.middle, spread.top)
    cast = f"{result.cast.hue} {level(result.cast.amount)}"
    return [shown(path), depth, *map(level, levels), cast, level(result.saturation)]


def _decided(correction: Correction, mattes: "Sequence[tuple[Matte, Coverage]]") -> dict[str, Any]:
    """The JSON entries about mattes and bent curves; empty if there are none."""
    from poise.chain.curves import largest, straight

    result: dict[str, Any] = {}
    if mattes:
        result["mattes"] = [
            {"name": matte.name, "on": matte.on, "coverage": coverage.to_json()} for matte, coverage in mattes
        ]
    bent = {name: points for name, points in asdict(correction.curves).items() if not straight(points)}
    if bent:
        result["curves"] = {
            name: {"points": len(points), "largest": round(100 * largest(points), 4)} for name, points in bent.items()
        }
    return result


def _line(one: Found, matte: Matte, coverage: "Coverage") -> str:
    """The line about a matte below the table."""
    off = "" if matte.on else "  off"
    covers = f"covers {level(coverage.share)} %  spread {level(coverage.spread)} %"
    return f"{shown(one.path)}  matte {one_line(matte.name)}{off}  {covers}"
