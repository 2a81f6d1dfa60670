"""The sector: a matte's hue and chroma range as a dotted outline on the Cb/Cr plane, drawn over a vectorscope."""

from functools import lru_cache
from math import ceil, radians

import numpy as np
import numpy.typing as npt

from poise.chain.matte import arc
from poise.correction.model import HueInterval, Interval
from poise_tui.draw import braille
from poise_tui.draw.cells import Cells, Ink

SPACING = 2
"""Cells of the count grid from dot to dot."""
DOT = "o"
"""In plain characters, where the trace itself consists of dots."""
Points = npt.NDArray[np.float64]


def outline(hue: HueInterval, chroma: Interval, size: int) -> Points:
    """The dots around a range, (dots, 2) Cb and Cr: along both hues from chroma low to high, and along both chromas.

    The full circle has only rings, and an open end of chroma has no ring. The outline is cut at the edge of the plane.
    A range that takes nothing or everything has no dots.

    Args:
        size: of the count grid; dots are SPACING of its cells from each other.

    Example:
        >>> np.unique(outline(HueInterval(90, 90), Interval(0.25, 0.5), 8).round(6), axis=0).tolist()
        [[0.0, 0.25], [0.0, 0.5]]
    """
    if chroma.low > chroma.high:
        return np.zeros((0, 2))
    middle, half = arc(hue)
    dots = []
    for reach in (chroma.low, chroma.high):
        if 0 < reach < 1:
            turns = _spread(middle - half, middle + half, reach * 2 * radians(half) * size)
            dots.append((np.full_like(turns, reach), turns))
    if half < 180:
        for turn in (middle - half, middle + half):
            reaches = _spread(chroma.low, chroma.high, (chroma.high - chroma.low) * size)
            dots.append((reaches, np.full_like(reaches, turn)))
    if not dots:
        return np.zeros((0, 2))
    reaches, turns = np.concatenate(dots, axis=1)
    points = np.stack([reaches * np.cos(np.radians(turns)), reaches * np.sin(np.radians(turns))], axis=1)
    cut: Points = points[np.abs(points).max(axis=1) <= 0.5]
    return cut


def lay_sector(cells: Cells, hue: HueInterval, chroma: Interval, size: int, unicode: bool, gain: int = 1) -> None:
    """Draws the outline of a range over a vectorscope of a size and gain; a trace keeps its dots and takes the ink."""
    over = _drawn(hue, Interval(chroma.low * gain, chroma.high * gain), size, unicode)
    traced = cells.inks >= Ink.LUMA
    lit = (over.inks != Ink.NONE) & (traced | (cells.inks == Ink.NONE) | (cells.inks == Ink.SKIN))
    bare = lit & ~traced
    cells.glyphs[bare] = over.glyphs[bare]
    if unicode:
        codes = cells.glyphs.view(np.uint32)
        codes[lit & traced] |= over.glyphs.view(np.uint32)[lit & traced]  # the dots of both
    cells.inks[lit] = Ink.MARK


@lru_cache(maxsize=8)
def _drawn(hue: HueInterval, chroma: Interval, size: int, unicode: bool) -> Cells:
    """The outline alone."""
    cb, cr = outline(hue, chroma, size).T
    # as the vectorscope's `cell_of`, for all dots at once
    rows, columns = (np.clip(np.floor(place * size), 0, size - 1).astype(np.intp) for place in (0.5 - cr, 0.5 + cb))
    grid = np.zeros((size, size), np.int64)
    grid[rows, columns] = 1
    if unicode:
        return braille.braille(grid, Ink.MARK)
    cells = Cells.blank(size // 2, size)
    lit = grid.reshape(size // 2, 2, size).any(axis=1)
    cells.glyphs[lit], cells.inks[lit] = DOT, Ink.MARK
    return cells


def _spread(first: float, last: float, length: float) -> npt.NDArray[np.float64]:
    """Values from first to last inclusive, about SPACING from each other over a length."""
    return np.linspace(first, last, max(ceil(length / SPACING), 1) + 1)
