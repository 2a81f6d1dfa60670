"""Braille: eight dots a cell, two across and four down (Unicode block U+2800), lit where anything was counted."""

from typing import Any

import numpy as np
import numpy.typing as npt

from poise_tui.draw.cells import Cells, Ink, brightness

DOWN, ACROSS = 4, 2
"""Grid rows and columns that one cell shows."""

_ORDER = np.array([7, 6, 5, 3, 1, 4, 2, 0])
"""Places of a cell, row by row, from the highest bit of its pattern to the lowest: the Unicode Standard, Braille
Patterns, has dots 1 2 3 7 down the left, 4 5 6 8 down the right."""

_CHEQUERED = 0x2800 | 0x01 | 0x10 | 0x04 | 0x80
"""Every second dot of a cell, as on a chequerboard."""
LEFT = "\u2801\u2802\u2804\u2840"
"""The patterns of one dot on the left, from top to bottom."""


def braille(counts: npt.NDArray[Any], ink: Ink = Ink.LUMA) -> Cells:
    """Draws a count grid.

    Args:
        counts: (rows * 4, columns * 2).
        ink: of the trace; its step shows how much was counted in the cell.

    Example:
        >>> braille(np.eye(4, 2, dtype=np.int64)).lines() == [chr(0x2811)]
        True
    """
    rows, columns = counts.shape[0] // DOWN, counts.shape[1] // ACROSS
    blocks = (counts > 0).reshape(rows, DOWN, columns, ACROSS).transpose(0, 2, 1, 3)
    dots = np.packbits(blocks.reshape(rows, columns, DOWN * ACROSS)[..., _ORDER], axis=-1)[..., 0].astype(np.uint32)
    lit = dots > 0
    glyphs = np.where(lit, dots + 0x2800, ord(" ")).astype("<u4").view("<U1")
    inks = np.where(lit, int(ink), int(Ink.NONE)).astype(np.uint8)
    stacked = counts.reshape(rows, DOWN, -1).sum(axis=1)
    return Cells(glyphs, inks, brightness(stacked[:, 0::ACROSS] + stacked[:, 1::ACROSS]))


def thinned(glyphs: npt.NDArray[np.str_], where: npt.NDArray[np.bool_]) -> None:
    """Removes every second dot from cells of braille; a cell that has only such dots keeps them.

    Example:
        >>> cells = np.array([chr(0x28FF), chr(0x2808)])
        >>> thinned(cells, np.array([True, True]))
        >>> [hex(ord(cell)) for cell in cells]
        ['0x2895', '0x2808']
    """
    codes = glyphs.view(np.uint32)
    thin = codes & _CHEQUERED
    codes[...] = np.where(where & (thin != 0x2800), thin, codes)
