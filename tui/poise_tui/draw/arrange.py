"""Where everything stands: panes for a terminal's size, from one cell up."""

from dataclasses import dataclass
from typing import Literal

Instrument = Literal["waveform", "parade", "vectorscope", "histogram", "picture"]
INSTRUMENTS: tuple[Instrument, ...] = ("waveform", "parade", "vectorscope", "histogram", "picture")
"""In the order of their keys."""
ALONE: Instrument = "parade"
"""What stands alone where there is room for one: it tells most about balance."""

GAP = 1
"""The last column of list, readings and instruments stays blank: they stand apart although their areas touch."""
STRIP_ROWS = 4
READING_ROWS = 10
LEAST_SCOPE = 8
"""Rows of a scope below which its trace says little."""


@dataclass(frozen=True)
class Area:
    """A pane's place in cells."""

    x: int
    y: int
    width: int
    height: int


def arrange(width: int, height: int, view: Instrument | None = None) -> dict[str, Area]:
    """Panes by name: shots, readings, status, strip, hints and those instruments there is room for.

    Args:
        view: one instrument alone; None for all.

    Example:
        >>> sorted(arrange(80, 24))
        ['hints', 'parade', 'readings', 'shots', 'status', 'strip']
    """
    strip = STRIP_ROWS if height >= 16 else max(0, min(2, height - 6))
    foot = min(height, strip + 2)
    top = height - foot
    panes = {"hints": Area(0, height - 1, width, 1)} if height else {}
    if height >= 2:
        panes["status"] = Area(0, top, width, 1)
    if strip:
        panes["strip"] = Area(0, top + 1, width, strip)
    side = min(width, 21 if width < 90 else 27 if width < 150 else 35)
    if width - side < 25:
        side = width if width < 30 else 0
    readings = READING_ROWS if side > 20 and top >= READING_ROWS + 4 else 0
    if side and top:
        panes["shots"] = Area(0, 0, side, top - readings)
    if readings:
        panes["readings"] = Area(0, top - readings, side, readings)
    if top >= 3 and width - side >= 12:
        panes |= _instruments(side, width - side, top, view)
    return panes


def _instruments(x: int, width: int, height: int, view: Instrument | None) -> dict[str, Area]:
    if view is not None:
        return {view: Area(x, 0, width, height)}
    if width < 76 or height < 2 * LEAST_SCOPE:
        if height < 3 * LEAST_SCOPE:
            return {ALONE: Area(x, 0, width, height)}
        upper = height // 2
        return {"waveform": Area(x, 0, width, upper), "parade": Area(x, upper, width, height - upper)}
    upper, left = (height + 1) // 2, (width + 1) // 2
    right, at = width - left, x + left
    # Cells are twice as high as wide, and the title takes a row.
    round_ = 2 * (upper - 1) + GAP
    if right - round_ < 11:
        round_ = right
    panes = {
        "waveform": Area(x, 0, left, upper),
        "parade": Area(x, upper, left, height - upper),
        "vectorscope": Area(at, 0, round_, upper),
        "picture": Area(at, upper, right, height - upper),
    }
    if right > round_:
        panes["histogram"] = Area(at + round_, 0, right - round_, upper)
    return panes
