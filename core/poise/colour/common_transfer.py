"""The transfer functions of most files: sRGB, ITU-R BT.709 and BT.1886, so that these need no colour-science.

It takes most of a second to import, in every process of a batch. Values below 0 are continued by the mirror image of
those above, except by BT.1886, which has none.

Sources: IEC 61966-2-1:1999, 5.2; ITU-R BT.709-6, item 1.2; ITU-R BT.1886, annex 1 (black at 0, white at 1).
"""

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


def _power(values: Array, exponent: float) -> Array:
    """A power of the size; the sign stays."""
    return np.asarray(np.sign(values) * np.abs(values) ** exponent)


def srgb_decode(code: Array) -> Array:
    """Linear light of sRGB code, of any shape.

    Example:
        >>> float(srgb_decode(np.array(0.5)).round(6))
        0.214041
    """
    return np.where(code <= 12.92 * 0.0031308, code / 12.92, _power((code + 0.055) / 1.055, 2.4))


def srgb_encode(light: Array) -> Array:
    """sRGB code of linear light, of any shape.

    Example:
        >>> float(srgb_encode(np.array(0.18)).round(6))
        0.461356
    """
    return np.where(light <= 0.0031308, light * 12.92, 1.055 * _power(light, 1 / 2.4) - 0.055)


def bt709_decode(code: Array) -> Array:
    """Scene light of BT.709 code, of any shape.

    Example:
        >>> float(bt709_decode(np.array(0.5)).round(6))
        0.259589
    """
    return np.where(code < _BT709_SEAM, code / 4.5, _power((code + 0.099) / 1.099, 1 / 0.45))


def bt709_encode(light: Array) -> Array:
    """BT.709 code of scene light, of any shape.

    Example:
        >>> float(bt709_encode(np.array(0.18)).round(6))
        0.409008
    """
    return np.where(light < 0.018, light * 4.5, 1.099 * _power(light, 0.45) - 0.099)


def bt1886_decode(code: Array) -> Array:
    """Display light of BT.1886 code, of any shape.

    Example:
        >>> float(bt1886_decode(np.array(0.5)).round(6))
        0.189465
    """
    return np.asarray(np.maximum(code, 0) ** 2.4)


def bt1886_encode(light: Array) -> Array:
    """BT.1886 code of display light, of any shape.

    Example:
        >>> float(bt1886_encode(np.array(0.25)).round(6))
        0.561231
    """
    return _power(light, 1 / 2.4)


_BT709_SEAM = float(bt709_encode(np.array(0.018)))

COMMON: dict[str, tuple[Callable[[Array], Array], Callable[[Array], Array]]] = {
    "sRGB": (srgb_decode, srgb_encode),
    "ITU-R BT.709": (bt709_decode, bt709_encode),
    "ITU-R BT.1886": (bt1886_decode, bt1886_encode),
}
"""Decoding and encoding by the names that colour-science registers."""
