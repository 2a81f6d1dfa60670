"""How a TIFF stores its pixels: strips or tiles, planes, compression, predictor and bits."""

from dataclasses import dataclass
from typing import Literal

NONE = 1
"""No compression."""
MIN_IS_WHITE, MIN_IS_BLACK, RGB = 0, 1, 2
"""Photometric interpretations."""
UNSPECIFIED, PREMULTIPLIED, STRAIGHT = 0, 1, 2
"""Kinds of extra channels."""


@dataclass(frozen=True)
class Storage:
    """The storage of a picture, by the numbers of the standard.

    Attributes:
        order: the byte order, `<` or `>`; None for that of this machine.
        big: whether the file is a BigTIFF.
        tile: rows and columns of a tile; None for strips.
        rows: rows of a strip.
        planar: whether each channel is stored by itself.
        extra: the kind of each channel beyond grey or RGB.
        start: the place in the file before which there must be no pixels.
    """

    order: Literal["<", ">"] | None = None
    big: bool = False
    photometric: int = MIN_IS_BLACK
    compression: int = NONE
    predictor: int = 1
    tile: tuple[int, int] | None = None
    rows: int | None = None
    planar: bool = False
    extra: tuple[int, ...] = ()
    start: int = 0
