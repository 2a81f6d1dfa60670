"""Luma weights, Y'CbCr, hue and chroma of code values."""

from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

Reals = npt.NDArray[np.floating[Any]]


class Weights(NamedTuple):
    """The weights of red and blue in luma; green has the rest.

    Example:
        >>> round(BT709.green, 4)
        0.7152
    """

    red: float
    blue: float

    @property
    def green(self) -> float:
        return 1 - self.red - self.blue


BT601 = Weights(0.299, 0.114)
"""ITU-R BT.601-7, 2.5.1."""
BT709 = Weights(0.2126, 0.0722)
"""ITU-R BT.709-6, item 3.2."""
BT2020 = Weights(0.2627, 0.0593)
"""ITU-R BT.2020-2, table 4, non-constant luminance."""

_BY_PRIMARIES = {"ITU-R BT.2020": BT2020}


def weights(primaries: str = "ITU-R BT.709") -> Weights:
    """The luma weights for a set of primaries, by colour-science's name for it.

    BT.2020 has its own weights; all other primaries use those of BT.709.

    Example:
        >>> weights("ITU-R BT.2020").red
        0.2627
    """
    return _BY_PRIMARIES.get(primaries, BT709)


def luma(red: Reals, green: Reals, blue: Reals, by: Weights = BT709) -> Reals:
    """Luma of R'G'B' code values.

    Computed as green plus weighted differences, so that the luma of a neutral equals its code to the last bit.

    Args:
        red, green, blue: full range 0..1, all of one shape; not clamped.

    Example:
        >>> float(luma(np.array(0.25), np.array(0.25), np.array(0.25)))
        0.25
    """
    result = red - green
    result *= by.red
    bluer = blue - green
    bluer *= by.blue
    result += bluer
    result += green
    return result


def differences(luma: Reals, red: Reals, blue: Reals, by: Weights = BT709) -> tuple[Reals, Reals]:
    """Cb and Cr (ITU-R BT.709-6, item 3.3): -0.5..0.5 for R'G'B' in 0..1, and exactly 0 for a neutral.

    Args:
        luma, red, blue: code values, full range 0..1, all of one shape.

    Example:
        >>> round(float(differences(np.array(0.0722), np.array(0.0), np.array(1.0))[0]), 6)
        0.5
    """
    cb = blue - luma
    cb *= 0.5 / (1 - by.blue)
    cr = red - luma
    cr *= 0.5 / (1 - by.red)
    return cb, cr


def to_ycbcr(rgb: Reals, by: Weights = BT709) -> Reals:
    """Y'CbCr of R'G'B' code values, (..., 3): Y' 0..1, Cb and Cr -0.5..0.5; neither clamped nor quantised.

    Args:
        rgb: (..., 3), full range 0..1.

    Example:
        >>> to_ycbcr(np.array([1.0, 1.0, 1.0])).tolist()
        [1.0, 0.0, 0.0]
    """
    red, green, blue = np.moveaxis(rgb, -1, 0)
    y = luma(red, green, blue, by)
    return np.stack([y, *differences(y, red, blue, by)], axis=-1)


def hue(cb: npt.ArrayLike, cr: npt.ArrayLike) -> Reals:
    """Hue angle in degrees, 0..360, counter-clockwise from +Cb: atan2(Cr, Cb).

    Example:
        >>> float(hue(0, 0.1))
        90.0
    """
    angle: Reals = np.degrees(np.arctan2(cr, cb)) % 360
    return angle


def chroma(cb: npt.ArrayLike, cr: npt.ArrayLike) -> Reals:
    """Distance from neutral on the Cb/Cr plane: hypot(Cb, Cr), in the same unit.

    Example:
        >>> float(chroma(0.3, 0.4))
        0.5
    """
    length: Reals = np.hypot(cb, cr)
    return length
