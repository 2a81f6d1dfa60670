"""Premultiplied (associated) alpha: colour is divided by alpha, and multiplied by it again.

A pixel has a straight colour where alpha is above 0 and the quotient is one that its depth holds. The others, such as a
glow that adds light and covers nothing (alpha 0 with colour, legal in OpenEXR), have none.

Source: "Technical Introduction to OpenEXR" (openexr.com), "RGB Color" and alpha; TIFF 6.0, ExtraSamples 1.
"""

from typing import Any

import numpy as np
import numpy.typing as npt

Pixels = npt.NDArray[Any]
Mask = npt.NDArray[np.bool_]


def divided(pixels: Pixels, maximum: int) -> tuple[Pixels, Mask]:
    """The straight picture, and which pixels have a straight colour; the others stand as stored.

    Args:
        pixels: (height, width, 2 or 4), premultiplied.
        maximum: the code of full scale; 1 for float.

    Returns:
        A new array of the same shape and type, and (height, width).

    Example:
        >>> straight, solid = divided(np.array([[[50, 100], [7, 0]]], np.uint8), 255)
        >>> straight.tolist(), solid.tolist()
        ([[[128, 100], [7, 0]]], [[True, False]])
    """
    alpha = pixels[..., -1:]
    solid: Mask = (alpha[..., 0] > 0) & np.isfinite(alpha[..., 0])
    below = np.where(solid[..., None], alpha, 1)
    with np.errstate(over="ignore"):
        if pixels.dtype.kind == "f":
            colour = (pixels[..., :-1].astype(np.float32) / below).astype(pixels.dtype)
        else:
            whole = below.astype(np.uint32)  # 65535 * 65535 and a half of it still fit
            quotient = (pixels[..., :-1].astype(np.uint32) * np.uint32(maximum) + whole // 2) // whole
            solid &= (quotient <= maximum).all(axis=-1)
            colour = quotient.astype(pixels.dtype)
    solid &= np.isfinite(colour).all(axis=-1)
    straight = pixels.copy()
    straight[solid, :-1] = colour[solid]
    return straight, solid


def multiplied(pixels: Pixels, maximum: int) -> Pixels:
    """The premultiplied picture, a new array; colour under an alpha of 0 becomes 0.

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
