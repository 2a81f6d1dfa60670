"""A frame: the pixels of one picture at the file's own depth, and the data that its codec keeps for writing."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum
from functools import cached_property
from types import MappingProxyType
from typing import Any

import numpy as np
import numpy.typing as npt

from poise.frames.premultiplied import divided
from poise.frames.tags import Tags
from poise.frames.timing import UNTIMED, Timing

Pixels = npt.NDArray[Any]


class Depth(Enum):
    """How one channel value is stored: unsigned integer of 8 to 16 bits, half or float.

    Example:
        >>> Depth.U10.maximum, Depth.HALF.is_float
        (1023, True)
    """

    U8 = "8"
    U10 = "10"
    U12 = "12"
    U14 = "14"
    U16 = "16"
    HALF = "half"
    FLOAT = "float"

    @property
    def is_float(self) -> bool:
        return self in (Depth.HALF, Depth.FLOAT)

    @property
    def packed(self) -> bool:
        """Whether a code doesn't fill whole bytes."""
        return self in (Depth.U10, Depth.U12, Depth.U14)

    @property
    def bits(self) -> int:
        return {"half": 16, "float": 32}.get(self.value) or int(self.value)

    @property
    def maximum(self) -> int:
        """The code of full scale; 1 for float."""
        return 1 if self.is_float else 2**self.bits - 1

    @property
    def dtype(self) -> np.dtype[Any]:
        if self is Depth.HALF:
            return np.dtype(np.float16)
        if self is Depth.FLOAT:
            return np.dtype(np.float32)
        return np.dtype(np.uint8 if self is Depth.U8 else np.uint16)


@dataclass(frozen=True)
class Frame:
    """One picture.

    Attributes:
        pixels: (height, width, channels), `depth.dtype`; 1 grey, 2 grey and alpha, 3 RGB, 4 RGB and alpha. Colour is as
            stored, so multiplied by alpha if `premultiplied`. Codes of 10, 12 and 14 bits are in the low bits of
            uint16.
        depth: how the file stores one value.
        linear: whether values are linear light by the convention of the format (OpenEXR, float TIFF).
        premultiplied: whether the file stores colour multiplied by alpha (OpenEXR, TIFF with associated alpha).
        icc: the embedded ICC profile; None if there is none.
        recoded: whether values are no longer in the encoding that the file's metadata describes.
        views: the further views of a stereo picture, such as the right eye; corrected as this one.
        tags: the encoding that the file's header names; None if it names none.
        timing: its place in time by the file's header.
        carry: other data that the codec keeps for writing the same format; private to the codec.
    """

    pixels: Pixels
    depth: Depth
    linear: bool = False
    premultiplied: bool = False
    icc: bytes | None = None
    recoded: bool = False
    views: tuple["Frame", ...] = ()
    tags: Tags | None = None
    timing: Timing = UNTIMED
    carry: Mapping[str, Any] = field(default_factory=lambda: MappingProxyType({}))

    @property
    def height(self) -> int:
        return int(self.pixels.shape[0])

    @property
    def width(self) -> int:
        return int(self.pixels.shape[1])

    @property
    def channels(self) -> int:
        return int(self.pixels.shape[2])

    @property
    def grey(self) -> bool:
        return self.channels < 3

    @property
    def alpha(self) -> bool:
        return self.channels in (2, 4)

    @property
    def opaque(self) -> bool:
        """Whether alpha is full everywhere, or there is none."""
        return not self.alpha or bool((self.pixels[..., -1] == self.depth.maximum).all())

    @cached_property
    def colour(self) -> Pixels:
        """The picture without alpha, (height, width, 1 or 3): straight colour, or a view of the pixels.

        Pixels without a straight colour, as under an alpha of 0, stay as stored (`poise.frames.premultiplied`).
        """
        pixels = self.pixels
        if self.premultiplied and not self.opaque:
            pixels, _ = divided(pixels, self.depth.maximum)
        return pixels[..., : 1 if self.grey else 3]
