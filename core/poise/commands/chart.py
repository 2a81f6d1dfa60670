"""`poise chart`: exposure and neutral balance from a chart of 24 patches in a frame, and how far each patch is off."""

import dataclasses
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
import msgspec

from poise.commands.shared.decisions import reason_to_keep
from poise.commands.shared.options import AS_JSON, SIDECARS
from poise.commands.shared.output import Report, data, shown
from poise.commands.shared.shots import Found, encoding_of, found
from poise.commands.shared.table import table
from poise.correction import NEUTRAL
from poise.errors import FileError, PoiseError, UsageError

if TYPE_CHECKING:
    from poise.solve import Charted
    from poise.solve.patches import Corners

HEAD = ("patch", "before", "after", "")


class Corner(click.ParamType):  # type: ignore[type-arg]
    """x,y as shares of the picture, as (float, float)."""

    name = "x,y"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> tuple[float, float]:
        if isinstance(value, tuple):
            return value
        try:
            x, y = (float(number) for number in str(value).split(","))
        except ValueError:
            self.fail(f"{value!r} is no corner; give x,y as shares of the picture, such as 0.31,0.42", param, ctx)
        if not (0 <= x <= 1 and 0 <= y <= 1):
            self.fail(f"{value} lies outside the picture; x and y go from 0 to 1", param, ctx)
        return x, y


@click.command("chart")
@click.argument("path", metavar="FRAME", type=click.Path(path_type=Path))
@click.option(
    "--corners",
    nargs=4,
    type=Corner(),
    metavar="X,Y X,Y X,Y X,Y",
    help="Outer corners of the four corner patches, going round, as shares of width and height.",
)
@click.option("--report", "with_report", is_flag=True, help="Also print CIEDE2000 of each patch, before and after.")
@click.option("--again", is_flag=True, help="Also replace a correction that was made by hand or is as good.")
@click.option("--dry-run", is_flag=True, help="Write nothing.")
@SIDECARS
@AS_JSON
def command(
    path: Path,
    corners: "Corners | None",
    with_report: bool,
    again: bool,
    dry_run: bool,
    sidecars: Path | None,
    as_json: bool,
) -> None:
    """Set exposure and neutral balance from a chart in FRAME.

    The chart has 24 patches, six by four, the last row from white to black. Corners begin at any corner patch and go
    round either way. Without --corners the chart is looked for, and most that lie flat and large enough are found.

    Exposure, warmth and magenta are set so that the neutrals have their published values, slope where these end, and
    levels are put back to neutral. It counts as made by hand, so that no later starting point replaces it. poise copy
    takes it to the other shots in the same light. Neutrals that are clipped are left out; three of the six are enough.
    Where that brings the chart no closer than the shot's present correction, nothing is written, unless --again.

    Printed is the mean CIEDE2000 over the patches against their published values under D50, before and after.

    Example: poise chart day/quay_02.tif --corners 0.31,0.42 0.58,0.40 0.59,0.61 0.32,0.63 --report

    Example: poise copy day/quay_02.tif day --only light,balance
    """
    report = Report()
    shots = found([path], report, sidecars=sidecars)
    if len(shots) != 1:
        report.end()
        raise UsageError(f"{shown(path)}: FRAME must be one shot; name the picture that shows the chart")
    (one,) = shots
    reason = reason_to_keep(one, again)
    if reason and not dry_run:
        report.passed_over(one.path, reason)
        raise UsageError("nothing to do: the shot was passed over")
    try:
        result, written = charted(one, corners, write=not dry_run, again=again)
    except FileError as fault:
        report.fault(fault.path, fault.reason)
    except PoiseError as fault:
        report.fault(one.path, str(fault))
    else:
        if as_json:
            data(entry(one, result, written=written))
        else:
            click.echo("\n".join(lines(one, result, with_report)))
    report.end()


def charted(
    one: Found, corners: "Corners | None", *, write: bool, again: bool = False, ten: bool = False
) -> "tuple[Charted, bool]":
    """Solve one shot from its chart and write its sidecar if `write`; return the result and whether it was written.

    Args:
        again: also write what is no better than the correction that the shot has.
        ten: stay within slope, offset, power and saturation; the note says how close that is.

    Raises:
        PoiseError: the picture can't be read, there is no such chart in it, or the sidecar can't be written.
    """
    from poise.commands.shared.decisions import decide
    from poise.frames import read
    from poise.solve import as_cdl, chart, find_chart

    frame = read(one.file)
    encoding = encoding_of(one.sidecar, frame, one.folder)
    by_hand = one.sidecar is not None and one.sidecar.by_hand
    present = one.correction
    before = present if by_hand else NEUTRAL  # what auto gave, it gave for other levels
    if corners is None:
        result = find_chart(frame.colour, encoding, frame.depth, before, present)
    else:
        result = chart(frame.colour, corners, encoding, frame.depth, before, present)
    if ten:
        correction, told = as_cdl(frame.colour, result.correction, encoding, frame.depth)
        result = dataclasses.replace(result, correction=correction, note="; ".join(filter(None, (result.note, told))))
    write = write and (again or result.better)
    if write:
        decide(one, result.correction, by_hand=True, at=one.keyframe)
    return result, write


def entry(one: Found, result: "Charted", written: bool) -> dict[str, Any]:
    """What the chart told, for JSON: corners as shares of the picture, differences in CIEDE2000."""
    return {
        "file": str(one.path),
        "corners": [[round(x, 5), round(y, 5)] for x, y in result.corners],
        "correction": msgspec.to_builtins(result.correction),
        "note": result.note,
        "mean": {"before": round(result.before, 2), "after": round(result.after, 2)},
        "patches": [
            {"name": patch.name, "before": patch.before, "after": patch.after, "clipped": patch.clipped}
            for patch in result.patches
        ],
        "written": written,
    }


def lines(one: Found, result: "Charted", with_report: bool) -> list[str]:
    """The same in lines, with a table of the patches if asked for."""
    worst = result.worst
    told = [
        f"{shown(one.path)}: {result.note}",
        f"  mean CIEDE2000 {result.before:.2f} -> {result.after:.2f}, farthest off: {worst.name} {worst.after:.2f}",
    ]
    if not result.better:
        told.append(f"  {no_better(result)}; --again writes it")
    if with_report:
        rows = [
            [patch.name, f"{patch.before:.2f}", f"{patch.after:.2f}", "clipped" if patch.clipped else ""]
            for patch in result.patches
        ]
        told.append(table(HEAD, rows))
    return told


def no_better(result: "Charted") -> str:
    """That the correction which a shot has is as good, in words; only where it is."""
    return f"no better than it is, mean CIEDE2000 {result.standing:.2f}: left alone"
