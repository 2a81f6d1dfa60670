"""The ends of a picture: the lowest and the highest value of each channel, corrected for noise.

A lift makes a hard floor and clipping a hard ceiling. A percentile misses both, and noise widens a plain minimum or
maximum. So two estimates are made, which err in opposite directions: the plain extreme minus the excess that noise
would cause if every pixel were at the end, and the extreme after a small median filter, which removes small spots.
The more extreme of the two is used.
"""

from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

BLOCK = 8
BLOCKS = 60, 34
"""The width and height in pixels of a square that noise is measured in; the largest number of squares across and
down."""
QUIETEST = 10
"""The percentile of the deviations of all squares that is used as the noise; squares above it contain texture."""
LEAST = 3
"""The smallest number of pixels that an end is measured from."""
SHARE, SMOOTH_SHARE = 5e-5, 3e-4
"""The share of the pixels that an end is measured from, without and with the median filter."""
QUIET, LOUD = 0.006, 0.012
"""Noise in code: up to the first no median filter is used; above the second it is 5 x 5 pixels instead of 3 x 3."""
LEFT = {3: 0.42, 5: 0.27}
"""The standard deviation of Gaussian noise after a median filter of each size, relative to that before it."""
REACH = 1.5
"""How far the remaining noise extends beyond an end, in standard deviations."""


@dataclass(frozen=True)
class Ends:
    """The ends of a picture in code.

    Attributes:
        low, high: (3,) the lowest and the highest value of each channel.
        noise: (3,) the standard deviation of its noise.
    """

    low: Array
    high: Array
    noise: Array


def squares(pixels: npt.NDArray[np.generic]) -> npt.NDArray[np.generic]:
    """Squares of 8 x 8 pixels, spread evenly over a picture.

    Args:
        pixels: (height, width, channels).

    Returns:
        (n, 8, 8, channels), n at most 2040; n is 0 if the picture is smaller than a square.

    Example:
        >>> squares(np.zeros((16, 24, 3))).shape
        (6, 8, 8, 3)
    """
    down, across = (size // BLOCK for size in pixels.shape[:2])
    channels = pixels.shape[-1]
    grid = pixels[: down * BLOCK, : across * BLOCK].reshape(down, BLOCK, across, BLOCK, channels)
    grid = grid[:: max(1, -(-down // BLOCKS[1])), :, :: max(1, -(-across // BLOCKS[0]))]
    return np.moveaxis(grid, 2, 1).reshape(grid.shape[0] * grid.shape[2], BLOCK, BLOCK, channels)


def noise(some: Array) -> Array:
    """The standard deviation of noise in each channel, measured in the squares with the least variation.

    Second differences in both directions cancel gradients (Immerkaer, Fast noise variance estimation, 1996).

    Args:
        some: (n, 8, 8, 3) squares of code. Squares that are clipped, or not finite, are left out.

    Returns:
        (3,) in code; 0 for a channel with fewer than 8 squares left.

    Example:
        >>> noise(np.full((20, 8, 8, 3), 0.5)).tolist()
        [0.0, 0.0, 0.0]
    """
    inside = np.isfinite(some).all(axis=(1, 2)) & (((some <= 0) | (some >= 1)).mean(axis=(1, 2)) < 0.02)
    bent = np.diff(np.diff(np.where(np.isfinite(some), some, 0), n=2, axis=1), n=2, axis=2)
    deviation = np.sqrt((bent**2).mean(axis=(1, 2))) / 6
    channels = (deviation[inside[:, k], k] for k in range(3))
    return np.array([1.1 * np.percentile(one, QUIETEST) if len(one) >= 8 else 0.0 for one in channels])


def ends(code: Array, noise: Array) -> Ends:
    """The ends of a picture.

    Args:
        code: (height, width, 3); values that are not finite are ignored. A channel without finite values has ends 0, 1.
        noise: (3,) its standard deviation, in code.

    Example:
        >>> ramp = np.repeat(np.linspace(0.1, 0.9, 256).reshape(16, 16, 1), 3, axis=2)
        >>> ends(ramp, np.zeros(3)).low.round(2).tolist()
        [0.11, 0.11, 0.11]
    """
    low, high = np.zeros(3), np.ones(3)
    for k in range(3):
        whole = np.isfinite(code[..., k])
        if whole.any():
            channel = np.where(whole, code[..., k], np.median(code[..., k][whole]))
            low[k], high[k] = -highest(-channel, float(noise[k])), highest(channel, float(noise[k]))
    return Ends(low, high, noise)


def darkest(code: Array, at: Ends) -> tuple[Array, Array]:
    """The mean code of the darkest pixels, and their distance from the floor of each channel.

    Small distances mean that the picture contains a black. A large one means that other pixels set that floor.

    Args:
        code: (height, width, 3).
        at: its ends.

    Returns:
        (3,) in code, and (3,) as a share 0..1 of the range of the channel.

    Example:
        >>> code = np.full((8, 8, 3), 0.5)
        >>> code[:2] = 0.1
        >>> darkest(code, ends(code, np.zeros(3)))[1].round(6).tolist()
        [0.0, 0.0, 0.0]
    """
    filtered = _filtered(code, float(at.noise.max()))
    brightest = (filtered / np.maximum(at.high, 0.02)).max(axis=-1)
    brightest = np.where(np.isfinite(brightest), brightest, np.inf)
    black = filtered[brightest <= -_nth(-brightest, max(LEAST, int(SHARE * brightest.size)))].mean(axis=0)
    return black, np.clip((black - at.low) / np.maximum(at.high - at.low, 0.02), 0, 1)


def _filtered(code: Array, noise: float) -> Array:
    """Code after a median filter, whose size depends on the noise."""
    import cv2

    if noise <= QUIET or min(code.shape[:2]) < 3:
        return code
    whole = np.where(np.isfinite(code), code, 1).astype(np.float32)
    return cv2.medianBlur(np.ascontiguousarray(whole), 5 if noise > LOUD else 3).astype(np.float64)


def whiteness(code: Array, at: Ends) -> float:
    """How close a single pixel comes to the ceilings of all three channels, 0..1.

    1 means that the picture contains a white; low values mean that pixels of different colours set the ceilings.

    Args:
        code: (height, width, 3).
        at: its ends.

    Example:
        >>> code = np.full((8, 8, 3), 0.1)
        >>> code[:2] = 0.9
        >>> whiteness(code, ends(code, np.zeros(3)))
        1.0
    """
    reach = np.maximum(at.high - at.low, 0.02)
    least = ((code - at.low) / reach).min(axis=-1)
    least = np.where(np.isfinite(least), least, 0)
    return float(np.clip(highest(least, float(np.mean(at.noise / reach))), 0, 1))


def highest(channel: Array, noise: float, share: float = SHARE) -> float:
    """The highest value of one channel, corrected for noise.

    Args:
        channel: (height, width), finite.
        noise: its standard deviation, in the units of the channel.
        share: 0..1, the share of the pixels that the value is measured from.

    Example:
        >>> highest(np.linspace(0, 1, 101).reshape(1, 101), noise=0.0)
        0.98
    """
    count = max(LEAST, int(share * channel.size))
    plain = _nth(channel, count)
    if noise <= QUIET or channel.size <= count:
        return plain
    import cv2

    size = 5 if noise > LOUD else 3
    smooth = cv2.medianBlur(np.ascontiguousarray(channel, np.float32), size).astype(np.float64)
    count_smooth = max(LEAST, int(max(share, SMOOTH_SHARE) * channel.size))
    least = plain + NormalDist().inv_cdf(count / channel.size) * noise
    return max(least, _nth(smooth, count_smooth) - REACH * LEFT[size] * noise)


def _nth(values: Array, number: int) -> float:
    flat = values.ravel()
    place = max(flat.size - number, 0)
    return float(np.partition(flat, place)[place])
