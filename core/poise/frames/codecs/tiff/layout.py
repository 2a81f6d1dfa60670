"""How a TIFF stores its pixels: strips or tiles, planes, compression, predictor and bits."""

from dataclasses import dataclass
from typing import Literal

NONE = 1
"""No compression."""
MIN_IS_WHITE, MIN_IS_BLACK, RGB = 0, 1, 2
"""Photometric interpretations."""
UNSPECIFIED, PREMULTIPLIED, STRAIGHT = 0, 1, 2
"""What an extra channel is."""


@dataclass(frozen=True)
class Storage:
    """What a file says about it, by the numbers of the standard.

    Attributes:
        order: `<` or `>`; None for this machine's.
        big: whether it is a BigTIFF.
        tile: rows and columns of a tile; None for strips.
        rows: in a strip.
        extra: what each channel beyond grey or RGB is.
        start: the place in the file before which no pixels may stand.
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
