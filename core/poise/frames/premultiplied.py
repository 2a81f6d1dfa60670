"""Premultiplied (associated) alpha: divides colour by alpha, and multiplies it again.

A pixel has a straight colour if alpha is above 0 and its depth can hold the quotient. Others have none, such as a glow
that adds light and covers nothing (alpha 0 with colour, legal in OpenEXR).

Source: "Technical Introduction to OpenEXR" (openexr.com), "RGB Color" and alpha; TIFF 6.0, ExtraSamples 1.
"""

from typing import Any

import numpy as np
import numpy.typing as npt

Pixels = npt.NDArray[Any]
Mask = npt.NDArray[np.bool_]

_ROWS = 64
"""Rows at a time, few enough for the processor's cache."""
_ABOVE_HALF = 65520
"""The smallest value that rounds to infinity as a half."""


def divided(pixels: Pixels, maximum: int) -> tuple[Pixels, Mask]:
    """The picture with straight colour, and which pixels have one; the others stay as stored.

    Args:
        pixels: (height, width, 2 or 4), premultiplied.
        maximum: the code of full scale; 1 for float.

    Returns:
        A new array of the same shape and type, and a mask, (height, width).

    Example:
        >>> straight, solid = divided(np.array([[[50, 100], [7, 0]]], np.uint8), 255)
        >>> straight.tolist(), solid.tolist()
        ([[[128, 100], [7, 0]]], [[True, False]])
    """
    straight = np.empty_like(pixels)
    solid: Mask = np.empty(pixels.shape[:-1], bool)
    for top in range(0, len(pixels), _ROWS):
        rows = slice(top, top + _ROWS)
        divide = _floats if pixels.dtype.kind == "f" else _codes
        divide(pixels[rows], maximum, straight[rows], solid[rows])
    return straight, solid


def _floats(stored: Pixels, _: int, straight: Pixels, solid: Mask) -> None:
    values = stored.astype(np.float32)
    colour, alpha = values[..., :-1], values[..., -1:]
    solid[:] = ((alpha > 0) & np.isfinite(alpha))[..., 0]
    with np.errstate(over="ignore", invalid="ignore"):
        np.divide(colour, alpha, out=colour, where=solid[..., None])
        solid &= (np.abs(colour) < (_ABOVE_HALF if stored.dtype == np.float16 else np.inf)).all(axis=-1)
        straight[:] = values
    np.copyto(straight, stored, where=~solid[..., None])


def _codes(stored: Pixels, maximum: int, straight: Pixels, solid: Mask) -> None:
    alpha = np.maximum(stored[..., -1:], 1).astype(np.uint32)  # 65535 * 65535 plus half of 65535 fits
    quotient = (stored[..., :-1].astype(np.uint32) * np.uint32(maximum) + alpha // 2) // alpha
    solid[:] = (stored[..., -1] > 0) & (quotient <= maximum).all(axis=-1)
    straight[:] = stored
    np.copyto(straight[..., :-1], quotient.astype(stored.dtype), where=solid[..., None])


def multiplied(pixels: Pixels, maximum: int) -> Pixels:
    """The picture with premultiplied colour, a new array; colour under an alpha of 0 becomes 0.

    Args:
        pixels: (height, width, 2 or 4), straight.
        maximum: the code of full scale; 1 for float.

    Example:
        >>> multiplied(np.array([[[128, 100], [7, 0]]], np.uint8), 255).tolist()
        [[[50, 100], [0, 0]]]
    """
    colour, alpha = pixels[..., :-1], pixels[..., -1:]
    made = pixels.copy()
    if pixels.dtype.kind == "f":
        made[..., :-1] = np.where(alpha == 0, 0, colour) * alpha
    else:
        made[..., :-1] = (colour.astype(np.uint32) * alpha + np.uint32(maximum // 2)) // np.uint32(maximum)
    return made
