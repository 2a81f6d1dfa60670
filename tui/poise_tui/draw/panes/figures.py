"""The readings as small tables of text."""

from collections.abc import Sequence
from math import isnan

from poise.delivery.fault import Fault, brief
from poise.scopes import Readings
from poise_tui.draw.cells import Cells, Ink

WIDTH = 39
FIGURED = 10
"""The rows that the readings take in the narrow pane."""
SAMPLED = ("apart",)
"""Faults whose figures compare samples of all shots."""
_ROWS = (("Y", "luma", Ink.LUMA), ("R", "red", Ink.RED), ("G", "green", Ink.GREEN), ("B", "blue", Ink.BLUE))


def figures(readings: Readings) -> list[str]:
    """Nine lines, at most WIDTH wide; per cent of full signal, shares in per cent of the pixels."""
    lines = [f"{'':<6}{'black':>7}{'mid':>7}{'white':>7}{'<=0':>6}{'>=100':>6}"]
    for name in ("luma", "red", "green", "blue"):
        c = getattr(readings, name)
        lines.append(f"{name:<6}{c.black:>7.1f}{c.median:>7.1f}{c.white:>7.1f}{c.crushed:>6.1f}{c.clipped:>6.1f}")
    spread, cast = readings.spread, readings.cast
    lines.append(f"spread{spread.bottom:>7.1f}{spread.middle:>7.1f}{spread.top:>7.1f}")
    lines.append(
        f"cast    {cast.hue}" + (f" {cast.amount:.1f} % at {cast.angle:.0f} deg" if cast.hue != "none" else "")
    )
    lines.append(f"chroma  {readings.saturation:.1f} % on average")
    lines.append(f"outside {readings.outside:.1f} % beyond -5..105")
    return lines + ([f"invalid {readings.invalid:.2f} % not a number"] if readings.invalid else [])


def draw_figures(
    readings: Readings | None, exact: bool, columns: int, rows: int, faults: Sequence[Fault] = (), before: str = ""
) -> Cells:
    """The readings in a narrow pane, 20 columns at least: levels, what is crushed and clipped, spread, cast, chroma.

    Args:
        exact: whether every pixel was read; if not, the title marks the readings as a sample's.
        before: what is switched off in the picture; empty if nothing is.
        faults: delivery faults, the worst first, in the remaining rows; what has no room is counted.
    """
    cells = Cells.blank(rows, columns)
    hidden = _lay_faults(cells, faults, columns, rows)
    _lay_title(cells, before, "" if exact else " ~", f"{hidden} faults" if hidden else "", columns)
    label = 7 if columns >= 25 else 2
    each = min((columns - label) // 3, 8)
    if readings is None or each < 1:
        return cells
    for place, name in enumerate(("black", "mid", "white")):
        cells.write(1, label + place * each, f"{name:>{each}}"[:each], Ink.FAINT)
    for row, (letter, name, ink) in enumerate(_ROWS, 2):
        channel = getattr(readings, name)
        cells.write(row, 0, letter, ink)
        for place, value in enumerate((channel.black, channel.median, channel.white)):
            cells.write(row, label + place * each, _figure(value, each), Ink.TEXT)
    spread = readings.spread
    cells.write(6, 0, "spread", Ink.FAINT, label)
    for place, value in enumerate((spread.bottom, spread.middle, spread.top)):
        cells.write(6, label + place * each, _figure(value, each), Ink.TEXT)
    crushed, dark = max((getattr(readings, name).crushed, letter) for letter, name, _ in _ROWS[1:])
    clipped, light = max((getattr(readings, name).clipped, letter) for letter, name, _ in _ROWS[1:])
    at = cells.write(7, 0, "<=0 ", Ink.FAINT)
    at = cells.write(7, at, _share(crushed, dark), Ink.WARNING if crushed >= 1 else Ink.TEXT)
    at = cells.write(7, at + 1, ">=100 ", Ink.FAINT)
    cells.write(7, at, _share(clipped, light), Ink.WARNING if clipped >= 1 else Ink.TEXT)
    cast = readings.cast
    at = cells.write(8, 0, "cast ", Ink.FAINT)
    text = cast.hue if cast.hue == "none" or isnan(cast.amount) else f"{cast.hue} {cast.amount:.1f}"
    cells.write(8, at, text, Ink.TEXT)
    at = cells.write(9, 0, "chroma ", Ink.FAINT)
    at = cells.write(9, at, f"{readings.saturation:.1f}", Ink.TEXT)
    if readings.invalid:
        cells.write(9, at + 1, f"NaN {readings.invalid:.2f}", Ink.WARNING)
    elif readings.outside:
        cells.write(9, at + 1, f"out {readings.outside:.1f}", Ink.WARNING if readings.outside > 1 else Ink.TEXT)
    return cells


def _lay_title(cells: Cells, before: str, sampled: str, faults: str, columns: int) -> None:
    forms = (f"{before} readings %{sampled}", f"{before} %{sampled}", f"{before}{sampled}")
    title = next((form for form in forms if len(form) <= columns), forms[-1]) if before else f"readings %{sampled}"
    if faults and len(title) + 1 + len(faults) > columns:
        title = title.replace(" %", "")
    at = cells.write(0, 0, title, Ink.WARNING if before else Ink.TITLE)
    if faults and at < columns:
        cells.write(0, max(at + 1, columns - len(faults)), faults, Ink.WARNING)


def _lay_faults(cells: Cells, faults: Sequence[Fault], columns: int, rows: int) -> int:
    """Writes faults into the last rows; returns how many there are if a single row can't say it."""
    room = max(rows - FIGURED, 0)
    fit = len(faults) if len(faults) <= room else max(room - 1, 1)
    for row, fault in zip(range(FIGURED, rows), faults[:fit], strict=False):
        mark = "?" if fault.caution else "!"
        cells.write(row, 0, f"{mark} {_brief(fault, columns - 2)}", Ink.WARNING, columns)
    if fit < len(faults) and room > 1:
        cells.write(rows - 1, 0, f"and {len(faults) - fit} more: :faults", Ink.WARNING, columns)
    return len(faults) if room <= 1 and len(faults) > room else 0


def _brief(fault: Fault, width: int) -> str:
    """A fault in one line; `~` marks a figure from samples of the whole reel."""
    if fault.fault not in SAMPLED:
        return brief(fault, width)
    name, _, figures = brief(fault, width - 1).partition(" ")
    return f"{name} ~{figures}"


def _share(value: float, letter: str) -> str:
    """A share and the channel that has the most."""
    return f"{value:.1f}{letter if value >= 0.05 else ''}"


def _figure(value: float, width: int) -> str:
    return f"{value:>{width}.1f}"
