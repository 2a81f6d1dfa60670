"""Braille: eight dots a cell, two across and four down (Unicode block U+2800)."""

from functools import lru_cache
from typing import Any

import numpy as np
import numpy.typing as npt

from poise.scopes.density import from_even
from poise_tui.draw.cells import STEPS, Cells, Ink

DOWN, ACROSS = 4, 2
"""Grid rows and columns that one cell shows."""

_ORDER = np.array([7, 6, 5, 3, 1, 4, 2, 0])
"""Places of a cell, row by row, from the highest bit of its pattern to the lowest: the Unicode Standard, Braille
Patterns, has dots 1 2 3 7 down the left, 4 5 6 8 down the right."""

_RANKS = np.array([[0, 2], [3, 1], [0, 2], [3, 1]], np.uint8)
"""The order in which the dots of a cell light as it gets denser, two at a time: Bayer's ordered dither of 2 by 2
(Bayer, An optimum method for two-level rendition of continuous-tone pictures, IEEE ICC 1973)."""
_LONE = 2
"""A dot with at most this many counted neighbours of eight belongs to something thin and is always lit: a dot in a line
one dot wide has two, one at a straight edge of a cloud five."""

_BRIGHT = float(from_even(5)[-1])
"""A cell is bright from the density on at which all of its dots are lit."""

_CHEQUERED = 0x2800 | 0x01 | 0x10 | 0x04 | 0x80
"""Every second dot of a cell, as on a chequerboard."""
SPARSE = 0x2800 | 0x01 | 0x20
"""Every fourth dot of a cell."""
LEFT = "\u2801\u2802\u2804\u2840"
"""The patterns of one dot on the left, from top to bottom."""


def braille(counts: npt.NDArray[Any], ink: Ink = Ink.LUMA, lit: npt.NDArray[np.bool_] | None = None) -> Cells:
    """Draws a count grid.

    Args:
        counts: (rows * 4, columns * 2).
        ink: of the trace; a cell is bright or dim, which with the dots is enough. More steps would send up to a fifth
            more with each nudge.
        lit: which dots are lit, as a grid of the same shape; None for all where anything was counted.

    Example:
        >>> braille(np.eye(4, 2, dtype=np.int64)).lines() == [chr(0x2811)]
        True
    """
    rows, columns = counts.shape[0] // DOWN, counts.shape[1] // ACROSS
    blocks = (counts > 0 if lit is None else lit).reshape(rows, DOWN, columns, ACROSS).transpose(0, 2, 1, 3)
    dots = np.packbits(blocks.reshape(rows, columns, DOWN * ACROSS)[..., _ORDER], axis=-1)[..., 0].astype(np.uint32)
    there = dots > 0
    glyphs = np.where(there, dots + 0x2800, ord(" ")).astype("<u4").view("<U1")
    inks = np.where(there, int(ink), int(Ink.NONE)).astype(np.uint8)
    stacked = counts[0::DOWN] + counts[1::DOWN] + counts[2::DOWN] + counts[3::DOWN]
    whole = stacked[:, 0::ACROSS] + stacked[:, 1::ACROSS]
    dense = whole >= max(float(whole.mean()) * _BRIGHT, 1)
    return Cells(glyphs, inks, np.where(dense, STEPS - 1, 1).astype(np.uint8))


def dithered(counts: npt.NDArray[Any]) -> npt.NDArray[np.bool_]:
    """Which dots of a count grid to light so that a dense part has more of them than a sparse one.

    An ordered dither by `density`: an even spread lights half of the dots. A dot of something thin is always lit, and
    so is the densest dot of a cell that would be blank although something was counted there.

    Args:
        counts: (rows * 4, columns * 2).

    Example:
        >>> dithered(np.full((4, 2), 7)).astype(int).tolist()
        [[1, 0], [0, 1], [1, 0], [0, 1]]
        >>> int(dithered(np.array([[0, 0], [1, 0], [0, 1], [0, 0]])).sum())
        2
    """
    rows, columns = counts.shape[0] // DOWN, counts.shape[1] // ACROSS
    there = counts > 0
    lit = counts >= counts.mean() * _least(rows, columns)
    lit |= _neighbours(there) <= _LONE
    lit &= there
    bare = _cells(there) & ~_cells(lit)
    if bare.any():
        cells = counts.reshape(rows, DOWN, columns, ACROSS).transpose(0, 2, 1, 3)[bare].reshape(-1, DOWN * ACROSS)
        row, column = np.nonzero(bare)
        down, across = np.divmod(cells.argmax(axis=1), ACROSS)
        lit[row * DOWN + down, column * ACROSS + across] = True
    return np.asarray(lit)


def _cells(dots: npt.NDArray[np.bool_]) -> npt.NDArray[np.bool_]:
    """Which cells have any of their dots."""
    rows = dots[0::DOWN] | dots[1::DOWN] | dots[2::DOWN] | dots[3::DOWN]
    return np.asarray(rows[:, 0::ACROSS] | rows[:, 1::ACROSS])


@lru_cache(maxsize=16)
def _least(rows: int, columns: int) -> npt.NDArray[np.float64]:
    """The density at which each dot lights, as multiples of an even spread."""
    return np.tile(from_even(int(_RANKS.max()) + 2)[_RANKS], (rows, columns))


def _neighbours(there: npt.NDArray[np.bool_]) -> npt.NDArray[np.uint8]:
    """How many of the eight dots around each are set."""
    framed = np.pad(there, 1, mode="edge").astype(np.uint8)
    threes = framed[:-2] + framed[1:-1] + framed[2:]
    return np.asarray(threes[:, :-2] + threes[:, 1:-1] + threes[:, 2:] - framed[1:-1, 1:-1])


def thinned(glyphs: npt.NDArray[np.str_], where: npt.NDArray[np.bool_], kept: int = _CHEQUERED) -> None:
    """Removes dots from cells of braille, every second one by default; a cell that would lose all keeps them.

    Args:
        kept: the pattern of the dots that stay.

    Example:
        >>> cells = np.array([chr(0x28FF), chr(0x2808)])
        >>> thinned(cells, np.array([True, True]))
        >>> [hex(ord(cell)) for cell in cells]
        ['0x2895', '0x2808']
    """
    codes = glyphs.view(np.uint32)
    thin = codes & kept
    codes[...] = np.where(where & (thin != 0x2800), thin, codes)
