"""The graticule: figures beside a trace, 0 25 50 75 100 or those of a part of the scale, and their lines behind it."""

from functools import lru_cache

import numpy as np

from poise.scopes.levels import WHOLE, Scale, row_of
from poise_tui.draw.braille import DOWN, LEFT
from poise_tui.draw.cells import Cells, Ink

FIGURES = (100, 75, 50, 25, 0)
"""Per cent of full signal."""
MARGIN = 4
"""The columns of the figures."""
LIMIT = "\u25b8"
"""Beside a level that a delivery limit names."""
EACH = (1, 2, 5, 10)
"""Per cent from figure to figure on a part of the scale."""
SPARSE = 6
"""Columns from dot to dot of a line there, except at whole tens."""


def graticule(trace: Cells, unicode: bool = True, scale: Scale = WHOLE, limits: tuple[float, ...] = ()) -> Cells:
    """A trace of (rows, columns) with figures to its left: (rows, columns + MARGIN).

    On few rows, a figure that would share a row with 0, 50 or 100 is left out; on a part of the scale there is a figure
    every 1, 2, 5 or 10 %, as rows allow.

    Args:
        limits: levels in per cent that are marked beside the figures.
    """
    rows, columns = trace.shape
    lines = _lines(rows, columns, unicode, scale, limits)
    lit = trace.inks >= Ink.LUMA
    cells = Cells(lines.glyphs.copy(), lines.inks.copy(), lines.steps.copy())
    for name in ("glyphs", "inks", "steps"):
        np.copyto(getattr(cells, name)[:, MARGIN:], getattr(trace, name), where=lit)
    return cells


@lru_cache(maxsize=32)
def _lines(rows: int, columns: int, unicode: bool, scale: Scale, limits: tuple[float, ...]) -> Cells:
    """Figures and lines without a trace; a line is a row of dots where the trace itself would have them."""
    cells = Cells.blank(rows, columns + MARGIN)
    down = DOWN if unicode else 1
    places: dict[int, tuple[int, int]] = {}
    for figure in _figures(rows, scale):
        dot = row_of(figure / 100, rows * down, scale)
        if 0 <= dot < rows * down:
            places.setdefault(dot // down, (figure, dot % down))
    for row, (figure, dot) in places.items():
        cells.write(row, 0, f"{figure:>{MARGIN - 1}}", Ink.FAINT)
        for column in range(MARGIN, MARGIN + columns, 2 if scale.whole or not figure % 10 else SPARSE):
            cells.put(row, column, LEFT[dot] if unicode else "-", Ink.GRATICULE)
    for limit in limits:
        dot = row_of(limit / 100, rows * down, scale)
        if 0 <= dot < rows * down:
            cells.put(dot // down, MARGIN - 1, LIMIT if unicode else ">", Ink.MARK)
    return cells


def _figures(rows: int, scale: Scale) -> tuple[int, ...]:
    """The figures of a scale, of which each needs a row of its own; on the whole scale, the first ones go first."""
    if scale.whole:
        return (100, 0, 50, 75, 25)
    span = round(100 * (scale.high - scale.low), 6)
    each = next((each for each in EACH if each * rows >= span), EACH[-1])
    return tuple(range(-10, 111, each))
