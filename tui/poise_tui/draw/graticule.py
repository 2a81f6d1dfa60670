"""The graticule: the figures 0 25 50 75 100 beside a trace, and their lines behind it."""

from functools import lru_cache

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
    rows, columns = trace.shape
    lines = _lines(rows, columns, unicode)
    lit = trace.inks >= Ink.LUMA
    cells = Cells(lines.glyphs.copy(), lines.inks.copy(), lines.steps.copy())
    for name in ("glyphs", "inks", "steps"):
        np.copyto(getattr(cells, name)[:, MARGIN:], getattr(trace, name), where=lit)
    return cells


@lru_cache(maxsize=32)
def _lines(rows: int, columns: int, unicode: bool) -> Cells:
    """Figures and lines without a trace."""
    cells = Cells.blank(rows, columns + MARGIN)
    places: dict[int, int] = {}
    for figure in (100, 0, 50, 75, 25):
        places.setdefault(row_of(figure / 100, rows), figure)
    for row, figure in places.items():
        cells.write(row, 0, f"{figure:>{MARGIN - 1}}", Ink.GRATICULE)
        for column in range(MARGIN, MARGIN + columns, 2):
            cells.put(row, column, "\u00b7" if unicode else "-", Ink.GRATICULE)
    return cells
