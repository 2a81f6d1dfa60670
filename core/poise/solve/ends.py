"""The ends of a picture: each channel's lowest and highest value, apart from noise.

A lift is a hard floor and a clipped white a hard ceiling, which a percentile misses; but noise lowers a minimum. With
noise, two estimates err in opposite directions: the plain extreme less the reach of the noise if every pixel were at
the end, and the extreme after a small median, which loses small spots. The one farther out is taken.
"""

from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

BLOCK = 8
BLOCKS = 60, 34
"""Squares of neighbouring pixels that noise is measured in, and the most of them across and down."""
QUIETEST = 10
"""Percentile of the squares' deviations that is taken as the noise: the other squares hold texture."""
LEAST = 3
"""The fewest pixels that make an end."""
SHARE, SMOOTH_SHARE = 5e-5, 3e-4
"""Share of the pixels that make an end, plain and after the median."""
QUIET, LOUD = 0.006, 0.012
"""Noise, in code, up to which no median is needed, and above which it covers 5 pixels instead of 3."""
LEFT = {3: 0.42, 5: 0.27}
"""The share of Gaussian noise that a median over so many pixels each way leaves."""
REACH = 1.5
"""Standard deviations that the remaining noise reaches beyond an end."""


@dataclass(frozen=True)
class Ends:
    """Of a picture in code: each channel's lowest and highest value, and the noise's standard deviation, (3,) each."""

    low: Array
    high: Array
    noise: Array


def squares(pixels: npt.NDArray[np.generic]) -> npt.NDArray[np.generic]:
    """Squares of neighbouring pixels, (n, 8, 8, channels), evenly spread; none of a picture that is smaller."""
    down, across = (size // BLOCK for size in pixels.shape[:2])
    channels = pixels.shape[-1]
    grid = pixels[: down * BLOCK, : across * BLOCK].reshape(down, BLOCK, across, BLOCK, channels)
    grid = grid[:: max(1, -(-down // BLOCKS[1])), :, :: max(1, -(-across // BLOCKS[0]))]
    return np.moveaxis(grid, 2, 1).reshape(grid.shape[0] * grid.shape[2], BLOCK, BLOCK, channels)


def noise(some: Array) -> Array:
    """The standard deviation of noise in each channel, (3,), from squares of code, (n, 8, 8, 3), the quietest of them.

    Slopes and smooth shading don't count: second differences both ways (Immerkaer 1996).
    """
    inside = np.isfinite(some).all(axis=(1, 2)) & (((some <= 0) | (some >= 1)).mean(axis=(1, 2)) < 0.02)
    bent = np.diff(np.diff(np.where(np.isfinite(some), some, 0), n=2, axis=1), n=2, axis=2)
    deviation = np.sqrt((bent**2).mean(axis=(1, 2))) / 6
    channels = (deviation[inside[:, k], k] for k in range(3))
    return np.array([1.1 * np.percentile(one, QUIETEST) if len(one) >= 8 else 0.0 for one in channels])


def ends(code: Array, noise: Array) -> Ends:
    """The ends of a picture.

    Args:
        code: (height, width, 3); values that are not finite are ignored.
        noise: (3,) its standard deviation.
    """
    low, high = np.zeros(3), np.ones(3)
    for k in range(3):
        whole = np.isfinite(code[..., k])
        if whole.any():
            channel = np.where(whole, code[..., k], np.median(code[..., k][whole]))
            low[k], high[k] = -highest(-channel, float(noise[k])), highest(channel, float(noise[k]))
    return Ends(low, high, noise)


def darkest(code: Array, at: Ends) -> tuple[Array, Array]:
    """The code of the darkest pixels, (3,), and how near they come to each floor, (3,), 0..1 of its channel's range.

    Near 0 a black stands in the picture; else a channel's lowest is of another surface.
    """
    calm = _calm(code, float(at.noise.max()))
    brightest = (calm / np.maximum(at.high, 0.02)).max(axis=-1)
    brightest = np.where(np.isfinite(brightest), brightest, np.inf)
    black = calm[brightest <= -_nth(-brightest, max(LEAST, int(SHARE * brightest.size)))].mean(axis=0)
    return black, np.clip((black - at.low) / np.maximum(at.high - at.low, 0.02), 0, 1)


def _calm(code: Array, noise: float) -> Array:
    """Code after a median of each channel that suits its noise."""
    import cv2

    if noise <= QUIET or min(code.shape[:2]) < 3:
        return code
    whole = np.where(np.isfinite(code), code, 1).astype(np.float32)
    return cv2.medianBlur(np.ascontiguousarray(whole), 5 if noise > LOUD else 3).astype(np.float64)


def whiteness(code: Array, at: Ends) -> float:
    """How far one and the same pixel reaches the highest red, green and blue at once, 0..1 of their ranges."""
    reach = np.maximum(at.high - at.low, 0.02)
    least = ((code - at.low) / reach).min(axis=-1)
    least = np.where(np.isfinite(least), least, 0)
    return float(np.clip(highest(least, float(np.mean(at.noise / reach))), 0, 1))


def highest(channel: Array, noise: float, share: float = SHARE) -> float:
    """The highest value of one channel, (height, width), all finite, apart from noise of that standard deviation.

    Args:
        share: of the pixels that make an end.
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
