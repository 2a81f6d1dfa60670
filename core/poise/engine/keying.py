"""The key of a matte in float32: `poise.chain.matte.key`, with an angle taken only where a hue range falls off."""

import math
from typing import Any

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
    result = np.ones(green.shape, np.float32)
    if not _open(matte.luma):
        result *= _membership(by.red * red + by.blue * blue + green, matte.luma)
    middle, half = (math.radians(angle) for angle in arc(matte.hue))
    if (half >= math.pi and _open(matte.chroma)) or not result.any():
        return result
    # Cb and Cr, turned so that the middle of the hue range lies along x; exactly 0 for a neutral
    cb = np.array([-by.red, 1 - by.blue]) * 0.5 / (1 - by.blue)
    cr = np.array([1 - by.red, -by.blue]) * 0.5 / (1 - by.red)
    along, across = math.cos(middle) * cb + math.sin(middle) * cr, math.cos(middle) * cr - math.sin(middle) * cb
    x = float(along[0]) * red + float(along[1]) * blue
    y = float(across[0]) * red + float(across[1]) * blue
    chroma = np.sqrt(x * x + y * y)
    if not _open(matte.chroma):
        result *= _membership(chroma, matte.chroma)
    if half < math.pi:
        result *= chroma >= NO_HUE
        _take_hues(result, x, y, chroma, half, matte.hue)
    return result


def _take_hues(result: Plane, x: Plane, y: Plane, chroma: Plane, half: float, hue: HueInterval) -> None:
    """Multiplies by the membership of the angle between a colour and x, from its cosine where that is enough."""
    soft = math.radians(hue.soft)
    surely = x >= chroma * (math.cos(half) + MARGIN)
    perhaps = x >= chroma * (math.cos(min(half + soft, math.pi)) - MARGIN)
    result *= perhaps
    at = np.flatnonzero((result > 0) & ~surely)
    beyond = np.arctan2(np.abs(y.ravel()[at]), x.ravel()[at]) - np.float32(half)
    result.ravel()[at] *= _smoothstep(1 - beyond / soft) if soft else beyond <= 0


def _open(interval: Interval) -> bool:
    return interval.low <= 0 and interval.high >= 1


def _membership(values: Plane, interval: Interval) -> npt.NDArray[Any]:
    """`poise.chain.matte.membership`, of a range that does not take everything."""
    if interval.low > interval.high:
        return np.zeros_like(values)
    low, high = ends(interval)
    if not interval.soft:
        return (values >= low) & (values <= high)
    beyond = low - values if high == math.inf else values - high
    if math.isfinite(low) and math.isfinite(high):
        np.maximum(beyond, low - values, out=beyond)
    return _smoothstep(1 - beyond / interval.soft)


def _smoothstep(t: Plane) -> Plane:
    t = np.clip(t, 0, 1)
    return t * t * (3 - 2 * t)
