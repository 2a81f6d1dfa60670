"""The key of a matte in float32: `poise.chain.matte.key`, with an angle taken only where a hue range falls off."""

import math

import numpy as np
import numpy.typing as npt

from poise.chain.matte import NO_HUE, arc, ends
from poise.colour.luma import Weights
from poise.correction.model import HueInterval, Interval, Matte

Plane = npt.NDArray[np.float32]

MARGIN = 1e-6
"""Of a cosine: within it the angle itself is taken."""


def key(rgb: Plane, matte: Matte, by: Weights) -> Plane:
    """hue x chroma x luma of work code, (..., 3) float32 to (...) float32, within 1e-4 of the float64 formula.

    Example:
        key(work, Matte("buoy", luma=Interval(0.5, 1)), BT709)
    """
    green = rgb[..., 1]
    red, blue = rgb[..., 0] - green, rgb[..., 2] - green
    if _open(matte.luma):
        result = np.ones(green.shape, np.float32)
    else:
        result = _membership(_sum(by.red, red, by.blue, blue) + green, matte.luma)
    middle, half = (math.radians(angle) for angle in arc(matte.hue))
    if (half >= math.pi and _open(matte.chroma)) or not result.any():
        return result
    # Cb and Cr, turned so that the middle of the hue range lies along x; exactly 0 for a neutral
    cb = np.array([-by.red, 1 - by.blue]) * 0.5 / (1 - by.blue)
    cr = np.array([1 - by.red, -by.blue]) * 0.5 / (1 - by.red)
    along, across = math.cos(middle) * cb + math.sin(middle) * cr, math.cos(middle) * cr - math.sin(middle) * cb
    x, y = _sum(along[0], red, along[1], blue), _sum(across[0], red, across[1], blue)
    chroma = x * x
    chroma += y * y
    np.sqrt(chroma, out=chroma)
    if not _open(matte.chroma):
        result *= _membership(chroma, matte.chroma)
    if half < math.pi:
        _take_hues(result, x, y, chroma, half, matte.hue)
    return result


def _take_hues(result: Plane, x: Plane, y: Plane, chroma: Plane, half: float, hue: HueInterval) -> None:
    """Multiplies by the membership of the angle between a colour and x, from its cosine where that is enough."""
    soft = math.radians(hue.soft)
    surely = x >= chroma * (math.cos(half) + MARGIN)
    perhaps = x >= chroma * (math.cos(min(half + soft, math.pi)) - MARGIN)
    perhaps &= chroma >= NO_HUE
    result *= perhaps
    perhaps &= ~surely
    at = np.flatnonzero(perhaps)
    beyond = np.arctan2(np.abs(y.ravel()[at]), x.ravel()[at]) - np.float32(half)
    result.ravel()[at] *= _smoothstep(1 - beyond / soft) if soft else beyond <= 0


def _sum(a: float, one: Plane, b: float, other: Plane) -> Plane:
    """a one + b other."""
    result = np.float32(a) * one
    result += np.float32(b) * other
    return result


def _open(interval: Interval) -> bool:
    return interval.low <= 0 and interval.high >= 1


def _membership(values: Plane, interval: Interval) -> Plane:
    """`poise.chain.matte.membership`, of a range that does not take everything."""
    if interval.low > interval.high:
        return np.zeros_like(values)
    low, high = ends(interval)
    if not interval.soft:
        return ((values >= low) & (values <= high)).astype(np.float32)
    within = values - low if high == math.inf else high - values
    if math.isfinite(low) and math.isfinite(high):
        np.minimum(within, values - low, out=within)
    within *= 1 / interval.soft
    within += 1
    return _smoothstep(within)


def _smoothstep(t: Plane) -> Plane:
    """3t^2 - 2t^3, t held to 0..1; t is used up."""
    np.clip(t, 0, 1, out=t)
    rest = t * -2
    rest += 3
    t *= t
    t *= rest
    return t
