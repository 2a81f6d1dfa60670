"""The distribution of a picture's levels: what a shot is matched by, and how far two pictures stand apart."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from poise.colour import luma as y
from poise.frames.frame import Pixels
from poise.frames.proxy import proxy, sample_step

Array = npt.NDArray[np.float64]

STEPS = 400
"""Equal shares of the pixels; a quantile is taken in the middle of each."""
SHARES = (np.arange(STEPS) + 0.5) / STEPS


@dataclass(frozen=True, eq=False)
class Distribution:
    """The finite pixels of an evenly sampled picture in work code.

    They are kept as pixels, since quantiles of channels alone don't tell what saturation did.

    Attributes:
        pixels: (n, 1 or 3), 57600 of a picture of 16 by 9; 1 for a grey picture.
    """

    pixels: Array

    @property
    def grey(self) -> bool:
        return bool(self.pixels.shape[-1] == 1)


def distribution(work: Pixels) -> Distribution:
    """The distribution of a picture.

    Args:
        work: (height, width, 1 or 3) float work code, 1 is full scale; a pixel that is not finite is left out.

    Example:
        >>> distribution(np.full((2, 2, 3), 0.5)).pixels.shape
        (4, 3)
    """
    pixels = sampled(work).astype(np.float64)
    return Distribution(pixels[np.isfinite(pixels).all(axis=1)])


def sampled(picture: Pixels) -> Pixels:
    """Pixels evenly taken from (height, width, channels), (n, channels).

    They are those of the proxy's sample, which the desk shows, so that both give one figure; a sample stays as it is.
    The quantiles of 320 by 180 pixels stand within a quarter of a per cent of those of all.
    """
    small = proxy(picture)
    step = sample_step(len(small))
    return small[::step, ::step].reshape(-1, picture.shape[-1])


def levels(pixels: Array) -> Array:
    """The quantiles of each channel, (STEPS, channels), of (n, channels), n at least 1.

    Each is the level of a pixel, not between two, so that those of a picture under a rising function are the function
    of those of the picture.

    Example:
        >>> levels(np.array([[0.0], [1.0]]))[[0, -1], 0].tolist()
        [0.0, 1.0]
    """
    ordered: Array = np.sort(pixels, axis=0)
    return np.asarray(ordered[(SHARES * len(pixels)).astype(int)])


def clipped(pixels: Array, at: Array) -> npt.NDArray[np.bool_]:
    """Which of a picture's quantiles are its very lowest or highest level, where shape was lost; (STEPS, channels)."""
    low, high = pixels.min(axis=0), pixels.max(axis=0)
    return np.asarray((at <= low) | (at >= high))


def apart(a: Array, b: Array) -> float:
    """The mean parade difference between two sets of quantiles, in per cent of full signal.

    It is the mean over channels of the first Wasserstein distance between them, by the midpoint rule.

    Example:
        >>> round(apart(np.full((400, 3), 0.5), np.full((400, 3), 0.52)), 6)
        2.0
    """
    return float(100 * np.abs(a - b).mean())


def parade_difference(one: Distribution, two: Distribution, by: y.Weights) -> float:
    """The mean parade difference between two pictures, of luma where one of them is grey; NaN where one has no pixels.

    Args:
        by: the weights of luma.

    Example:
        >>> grey, white = (Distribution(np.full((2, 1), level)) for level in (0.5, 1.0))
        >>> parade_difference(grey, white, y.BT709)
        50.0
    """
    if not len(one.pixels) or not len(two.pixels):
        return float("nan")
    grey = one.grey or two.grey
    a, b = (levels(greyed(each.pixels, by) if grey else each.pixels) for each in (one, two))
    return apart(a, b)


def greyed(pixels: Array, by: y.Weights) -> Array:
    """Luma of (..., 1 or 3), (..., 1)."""
    if pixels.shape[-1] == 1:
        return pixels
    return np.asarray(y.luma(pixels[..., :1], pixels[..., 1:2], pixels[..., 2:], by), np.float64)


def chroma(pixels: Array, by: y.Weights) -> float:
    """The mean chroma of (n, 3), hypot(Cb, Cr), as the reading `saturation` has it."""
    red, green, blue = pixels.T
    cb, cr = y.differences(y.luma(red, green, blue, by), red, blue, by)
    return float(np.hypot(cb, cr).mean())
