"""`poise measure`: readings of shots at full resolution; of a sequence, the frame that it is judged on."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
from msgspec.structs import asdict

from poise.commands.shared.arguments import AS_JSON, PATHS, SIDECARS
from poise.commands.shared.mattes import covered
from poise.commands.shared.output import Report, data, shown
from poise.commands.shared.over_frames import FRAMES, entry, line, over
from poise.commands.shared.shots import Found, encoding_of, found, readings
from poise.commands.shared.table import level, table
from poise.correction import NEUTRAL, Correction, Matte
from poise.errors import FileError, PoiseError, one_line

if TYPE_CHECKING:
    from poise.frames import Frame
    from poise.scopes import Coverage, Readings

HEAD = ("file", "depth", "black", "median", "white", "crushed", "clipped", "bottom", "middle", "top", "cast", "sat")


@click.command("measure")
@PATHS
@click.option("--corrected", is_flag=True, help="Measure what apply would write.")
@FRAMES
@SIDECARS
@AS_JSON
def command(paths: tuple[Path, ...], corrected: bool, frames: int | None, sidecars: Path | None, as_json: bool) -> None:
    """Print readings of shots, at full resolution.

    Levels and shares are per cent of full signal. Bottom, middle and top are the spread between red, green and blue at
    black, median and white. Of a sequence, the frame is measured that it is judged on:
    the first, unless the app has pinned another.

    With --corrected, a line for each matte follows: how much of the picture it covers, and how much of it denoise and
    blur spread over the edge of what was keyed. --json also tells where curves are bent, and how far they move a value
    at most.

    With --frames, all frames of a sequence are measured, or every Nth, and a line tells how far their levels drift, and
    how much they flicker. That is no test for viewers who are sensitive to flashing light.

    Example: poise measure day --corrected

    Example: poise measure day --frames 8
    """
    report = Report()
    entries: list[dict[str, Any]] = []
    rows: list[list[str]] = []
    lines: list[str] = []
    for one in found(paths, report, sidecars=sidecars):
        try:
            frame, correction, result = measured(one, corrected)
            mattes = _covered(one, frame, correction)
        except FileError as fault:
            report.fault(fault.path, fault.reason)
        except PoiseError as fault:
            report.fault(one.path, str(fault))
        else:
            for matte, coverage in mattes:
                if matte.on and coverage.far:
                    report.note(one.path, f"the matte {matte.name!r} spreads far over its edge; lower its blur")
            entries.append(_entry(one, frame, result) | _decided(correction, mattes))
            if frames and one.shot.numbers:
                readings = over(one, frames, corrected, report)
                entries[-1] |= entry(readings, frames)
                rows += [_row(each.file, each.depth, each.readings) for each in readings]
                lines.append(line(one, readings, frames))
            else:
                rows.append(_row(one.path, frame.depth.value, result))
            lines += [_line(one, *matte) for matte in mattes]
    if as_json:
        data(entries)
    elif rows:
        click.echo("\n".join([table(HEAD, rows), *lines]))
    report.end()


def measured(one: Found, corrected: bool) -> "tuple[Frame, Correction, Readings]":
    """The frame that a shot is judged on, the correction it is seen under, and its readings.

    Raises:
        PoiseError: it can't be read, or can't be corrected so.
    """
    from poise.frames import read

    frame = read(one.file)
    correction = one.sidecar.correction if corrected and one.sidecar else NEUTRAL
    return frame, correction, readings(frame, encoding_of(one.sidecar, frame, one.folder), correction)


def _covered(one: Found, frame: "Frame", correction: Correction) -> "list[tuple[Matte, Coverage]]":
    """The mattes of a correction and what each covers, in order."""
    encoding = encoding_of(one.sidecar, frame, one.folder)
    return [
        (matte, covered(correction, index, encoding, frame.colour, frame.depth))
        for index, matte in enumerate(correction.mattes)
    ]


def _entry(one: Found, frame: "Frame", result: "Readings") -> dict[str, Any]:
    return {
        "file": str(one.path),
        "frames": len(one.shot.files),
        **({"frame": one.frame} if one.shot.numbers else {}),
        "width": frame.width,
        "height": frame.height,
        "depth": frame.depth.value,
        "readings": result.to_json(),
    }


def _row(path: Path, depth: str, result: "Readings") -> list[str]:
    luma, spread = result.luma, result.spread
    levels = (luma.black, luma.median, luma.white, luma.crushed, luma.clipped, spread.bottom, spread.middle, spread.top)
    cast = f"{result.cast.hue} {level(result.cast.amount)}"
    return [shown(path), depth, *map(level, levels), cast, level(result.saturation)]


def _decided(correction: Correction, mattes: "list[tuple[Matte, Coverage]]") -> dict[str, Any]:
    """Of an entry, what tells of mattes and of curves that are bent; nothing where there are none."""
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
    """What stands below the table about a matte."""
    off = "" if matte.on else "  off"
    covers = f"covers {level(coverage.share)} %  spread {level(coverage.spread)} %"
    return f"{shown(one.path)}  matte {one_line(matte.name)}{off}  {covers}"
