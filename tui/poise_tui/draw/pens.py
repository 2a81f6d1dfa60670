"""Pens: colours as whole numbers, stepped down to what a terminal has.

A pen is DEFAULT (the terminal's own colour), 0..255 (a colour of its palette) or TRUE + 0xRRGGBB.
"""

from typing import Any

import numpy as np
import numpy.typing as npt

from poise_tui.draw.capability import Colours

DEFAULT = -1
TRUE = 1 << 24
Pens = npt.NDArray[np.int32]

_CUBE = np.array([0, 95, 135, 175, 215, 255])
"""Levels of the 6x6x6 cube in a 256 colour palette (xterm's, which all others follow); greys are 8 + 10 n."""


def pens(rgb: npt.NDArray[Any], colours: Colours) -> Pens:
    """The pens nearest to colours.

    Args:
        rgb: (..., 3) 0..255.
        colours: what the terminal has; 16 colours are too few for a search, and give DEFAULT, as no colours do.

    Example:
        >>> pens(np.array([[255, 0, 0], [8, 8, 8]]), "256").tolist()
        [196, 232]
    """
    wide = rgb.astype(np.int32)
    if colours == "truecolor":
        return np.asarray(TRUE + (wide[..., 0] << 16) + (wide[..., 1] << 8) + wide[..., 2], np.int32)
    if colours != "256":
        return np.full(rgb.shape[:-1], DEFAULT, np.int32)
    places = np.where(wide < 48, 0, np.where(wide < 115, 1, (wide - 35) // 40))
    cube = 16 + 36 * places[..., 0] + 6 * places[..., 1] + places[..., 2]
    cube_error = ((_CUBE[places] - wide) ** 2).sum(axis=-1)
    grey = np.clip(np.floor((wide.mean(axis=-1) - 3) / 10).astype(np.int32), 0, 23)
    grey_error = (((8 + 10 * grey)[..., None] - wide) ** 2).sum(axis=-1)
    return np.asarray(np.where(grey_error < cube_error, 232 + grey, cube), np.int32)


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
