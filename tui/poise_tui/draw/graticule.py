"""The graticule: the figures 0 25 50 75 100 beside a trace, and their lines behind it."""

import numpy as np

from poise.scopes.levels import row_of
from poise_tui.draw.cells import Cells, Ink

FIGURES = (100, 75, 50, 25, 0)
"""Per cent of full signal."""
MARGIN = 4
"""Columns that the figures take."""


def graticule(trace: Cells, unicode: bool = True) -> Cells:
    """A trace of (rows, columns) with figures to its left: (rows, columns + MARGIN).

    On few rows, a figure that would fall on the row of another gives way to 0, 50 and 100.
    """
    rows, columns = trace.glyphs.shape
    wide = ((0, 0), (MARGIN, 0))
    cells = Cells(np.pad(trace.glyphs, wide, constant_values=" "), np.pad(trace.inks, wide), np.pad(trace.steps, wide))
    places: dict[int, int] = {}
    for figure in (100, 0, 50, 75, 25):
        places.setdefault(row_of(figure / 100, rows), figure)
    for row, figure in places.items():
        cells.write(row, 0, f"{figure:>{MARGIN - 1}}", Ink.GRATICULE)
    lines, dots = list(places), slice(MARGIN, MARGIN + columns, 2)
    free = cells.inks[lines, dots] < Ink.LUMA
    cells.glyphs[lines, dots] = np.where(free, "\u00b7" if unicode else "-", cells.glyphs[lines, dots])
    cells.inks[lines, dots] = np.where(free, int(Ink.GRATICULE), cells.inks[lines, dots])
    return cells
