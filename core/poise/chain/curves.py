"""Curves: monotone curves through points, for red, green and blue, then the master curve."""

from collections.abc import Callable
from functools import lru_cache

import numpy as np

from poise.chain.stage import Array, PerChannel, Stage
from poise.correction.model import Curves, Point


def is_neutral(curves: Curves) -> bool:
    """Whether all curves are the identity."""
    return all(straight(p) for p in (curves.red, curves.green, curves.blue, curves.master))


def straight(points: tuple[Point, ...]) -> bool:
    """Whether a curve is the identity.

    Example:
        >>> straight(((0, 0), (0.5, 0.5), (1, 1))), straight(((0, 0), (1, 0.9)))
        (True, False)
    """
    return all(x == y for x, y in points)


def largest(points: tuple[Point, ...]) -> float:
    """The largest amount, in code value, by which a curve moves any 16-bit code up or down.

    Example:
        >>> round(largest(((0, 0), (0.5, 0.6), (1, 1))), 3)
        0.101
    """
    codes = np.linspace(0, 1, 65536)
    return float(np.abs(curve(points)(codes) - codes).max())


def curve(points: tuple[Point, ...]) -> Callable[[Array], Array]:
    """The monotone cubic through the points (PCHIP; Fritsch & Carlson 1980), continued straight beyond its ends.

    Args:
        points: (input, output) in code value, inputs rising.

    Returns:
        A function of code values of any shape, float64.

    Example:
        >>> curve(((0, 0), (0.5, 0.6), (1, 1)))(np.array([0.5])).tolist()
        [0.6]
    """
    if straight(points):
        return lambda v: v
    from scipy.interpolate import PchipInterpolator

    x, y = np.array(points, np.float64).T
    inner = PchipInterpolator(x, y)
    first, last = (float(s) for s in inner.derivative()(x[[0, -1]]))

    def through(v: Array) -> Array:
        inside = inner(np.clip(v, x[0], x[-1]))
        return np.asarray(inside + first * np.minimum(v - x[0], 0) + last * np.maximum(v - x[-1], 0))

    return through


def stages(curves: Curves) -> list[Stage]:
    """The stages of the curves; none if neutral."""
    return [] if is_neutral(curves) else [_bent(curves)]


@lru_cache(maxsize=16)
def _bent(curves: Curves) -> Stage:
    """The stage of the curves: the same object each time, as the engine keeps tables by their stages."""
    channels = [curve(points) for points in (curves.red, curves.green, curves.blue)]
    master = curve(curves.master)

    def apply(rgb: Array) -> Array:
        return master(np.stack([channels[i](rgb[..., i]) for i in range(3)], axis=-1))

    return PerChannel(apply)
