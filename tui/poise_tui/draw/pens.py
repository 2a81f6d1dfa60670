"""Pens: colours as whole numbers, stepped down to what a terminal has.

A pen is DEFAULT (the terminal's own colour), 0..255 (a colour of its palette) or TRUE + 0xRRGGBB.
"""

from functools import lru_cache
from itertools import product
from typing import Any

import numpy as np
import numpy.typing as npt

from poise_tui.draw.capability import Colours
from poise_tui.draw.nearest import nearest, oklab

DEFAULT = -1
TRUE = 1 << 24
Pens = npt.NDArray[np.int32]

_CUBE = (0, 95, 135, 175, 215, 255)
"""Levels of the 6x6x6 cube in a 256 colour palette (xterm's, which all others follow); greys are 8 + 10 n."""
_TABLE = np.array([*product(_CUBE, repeat=3), *((8 + 10 * n,) * 3 for n in range(24))])
_FIRST = 16
"""The pen of the first colour of the table; those before it are the user's own."""
_BASIC = np.array([(205, 0, 0), (0, 205, 0), (205, 205, 0), (0, 0, 238), (205, 0, 205), (0, 205, 205)])
"""Red, green, yellow, blue, magenta and cyan of a terminal as xterm has them: pens 1 to 6."""
_BRIGHT_BLUE = 12
"""Stands for blue, which is too dark to read on black."""
_COLOURED = 0.03
"""The least chroma in Oklab that is drawn as a hue (chosen by trial, no source)."""


def pens(rgb: npt.NDArray[Any], colours: Colours) -> Pens:
    """The pens nearest to colours that keep their hue.

    Args:
        rgb: (..., 3) 0..255.
        colours: what the terminal has; 16 colours are too few for a search, and give DEFAULT, as no colours do.

    Example:
        >>> pens(np.array([[255, 0, 0], [8, 8, 8]]), "256").tolist()
        [196, 232]
    """
    if colours == "truecolor":
        wide = rgb.astype(np.int32)
        return np.asarray(TRUE + (wide[..., 0] << 16) + (wide[..., 1] << 8) + wide[..., 2], np.int32)
    if colours != "256":
        return np.full(rgb.shape[:-1], DEFAULT, np.int32)
    return (_FIRST + nearest(rgb, _TABLE)).astype(np.int32)


@lru_cache(maxsize=4)
def ladder(steps: int, colours: Colours) -> Pens:
    """The pens of all colours with `steps` even levels in each channel, (steps, steps, steps): a search made once."""
    levels = np.rint(np.linspace(0, 255, steps))
    return pens(np.stack(np.meshgrid(levels, levels, levels, indexing="ij"), axis=-1), colours)


def hues(rgb: npt.NDArray[Any]) -> Pens:
    """The pen of the nearest hue of a terminal's six; DEFAULT where there is next to none.

    Args:
        rgb: (..., 3) 0..255.

    Example:
        >>> hues(np.array([[60, 10, 20], [130, 150, 200], [90, 90, 90]])).tolist()
        [1, 12, -1]
    """
    wanted, there = oklab(rgb), oklab(_BASIC)
    turn = np.arctan2(wanted[..., 2], wanted[..., 1])[..., None] - np.arctan2(there[:, 2], there[:, 1])
    found = 1 + np.cos(turn).argmax(axis=-1)
    found = np.where(found == 4, _BRIGHT_BLUE, found)
    return np.where(np.hypot(wanted[..., 1], wanted[..., 2]) < _COLOURED, DEFAULT, found).astype(np.int32)


def sgr(pen: int, background: bool = False) -> str:
    """The parameters of Select Graphic Rendition (ECMA-48, 8.3.117; colours by ISO 8613-6) for a pen.

    Example:
        >>> sgr(TRUE + 0x0A0B0C), sgr(196, True), sgr(9), sgr(DEFAULT)
        ('38;2;10;11;12', '48;5;196', '91', '39')
    """
    shift = 10 if background else 0
    if pen == DEFAULT:
        return str(39 + shift)
    if pen >= TRUE:
        return f"{38 + shift};2;{pen >> 16 & 255};{pen >> 8 & 255};{pen & 255}"
    if pen < 8:
        return str(30 + shift + pen)
    return str(82 + shift + pen) if pen < 16 else f"{38 + shift};5;{pen}"
