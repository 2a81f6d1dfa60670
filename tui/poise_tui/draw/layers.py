"""Layers: grids of dots as glyphs, drawn over cells."""

import numpy as np
import numpy.typing as npt

from poise_tui.draw.braille import ACROSS, braille
from poise_tui.draw.cells import STEPS, Cells, Ink

Grid = npt.NDArray[np.bool_]
Glyphs = npt.NDArray[np.str_]

UPRIGHT, UPRIGHTS = "|", "\u2805\u2828"
"""An upright line in plain characters; every second dot of a braille cell, on its left and on its right."""


def dotted(grid: Grid, unicode: bool, glyph: str) -> Glyphs:
    """A grid of dots in braille, or with a glyph for each of them; blank where there are none."""
    return braille(grid).glyphs if unicode else np.where(grid, glyph, " ")


def lay(cells: Cells, glyphs: Glyphs, ink: Ink, step: int = STEPS - 1) -> None:
    """Draws the glyphs that are not blank over cells."""
    lit = glyphs != " "
    np.copyto(cells.glyphs, glyphs, where=lit)
    cells.inks[lit], cells.steps[lit] = ink, step


def lay_upright(cells: Cells, dot: int, unicode: bool) -> None:
    """A dotted upright line, at a column of dots."""
    every, column = (1, dot // ACROSS) if unicode else (2, dot)
    cells.glyphs[::every, column] = UPRIGHTS[dot % ACROSS] if unicode else UPRIGHT
    cells.inks[::every, column] = Ink.GRATICULE
