"""The graticule: the figures 0 25 50 75 100 beside a trace, and their lines behind it."""

from functools import lru_cache

import numpy as np

from poise.scopes.levels import row_of
from poise_tui.draw.braille import DOWN, LEFT
from poise_tui.draw.cells import Cells, Ink

FIGURES = (100, 75, 50, 25, 0)
"""Per cent of full signal."""
MARGIN = 4
"""The columns of the figures."""


def graticule(trace: Cells, unicode: bool = True) -> Cells:
    """A trace of (rows, columns) with figures to its left: (rows, columns + MARGIN).

    On few rows, a figure that would share a row with 0, 50 or 100 is left out.
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
    """Figures and lines without a trace; a line is a row of dots where the trace itself would have them."""
    cells = Cells.blank(rows, columns + MARGIN)
    down = DOWN if unicode else 1
    places: dict[int, tuple[int, int]] = {}
    for figure in (100, 0, 50, 75, 25):
        dot = row_of(figure / 100, rows * down)
        places.setdefault(dot // down, (figure, dot % down))
    for row, (figure, dot) in places.items():
        cells.write(row, 0, f"{figure:>{MARGIN - 1}}", Ink.GRATICULE)
        for column in range(MARGIN, MARGIN + columns, 2):
            cells.put(row, column, LEFT[dot] if unicode else "-", Ink.GRATICULE)
    return cells
