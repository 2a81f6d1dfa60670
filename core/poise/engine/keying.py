"""The key of a matte in float32: `poise.chain.matte.key`, worked out only where it may be above 0."""

import math

import numpy as np
import numpy.typing as npt

from poise.chain.matte import NO_HUE, arc, ends
from poise.colour.luma import Weights
from poise.correction.model import Interval, Matte

Plane = npt.NDArray[np.float32]
Planes = npt.NDArray[np.float32]

MARGIN = 1e-6
"""Of a cosine: within it the angle itself is taken."""


def key(rgb: Planes, matte: Matte, by: Weights) -> Plane:
    """hue x chroma x luma of work code, (3, ...) float32 to (...) float32, within 1e-4 of the float64 formula.

    Example:
        key(work, Matte("buoy", luma=Interval(0.5, 1)), BT709)
    """
    green = rgb[1]
    red, blue = rgb[0] - green, rgb[2] - green
    middle, half, soft = (math.radians(angle) for angle in (*arc(matte.hue), matte.hue.soft))
    # Cb and Cr, turned so that the middle of the hue range lies along x; exactly 0 for a neutral
    cb = np.array([-by.red, 1 - by.blue]) * 0.5 / (1 - by.blue)
    cr = np.array([1 - by.red, -by.blue]) * 0.5 / (1 - by.red)
    along, across = math.cos(middle) * cb + math.sin(middle) * cr, math.cos(middle) * cr - math.sin(middle) * cb

    possible = np.ones(green.shape, bool)
    if not _open(matte.luma):
        luma = _sum(by.red, red, by.blue, blue) + green
        possible &= _touched(luma, matte.luma)
    if half + soft < math.pi / 2:  # what is near the hue and far from neutral is far along x
        nearest = max(matte.chroma.low - matte.chroma.soft, NO_HUE) * math.cos(half + soft)
        possible &= _sum(along[0], red, along[1], blue) >= np.float32(nearest - MARGIN)

    at = np.flatnonzero(possible)
    found = np.ones(len(at), np.float32)
    if not _open(matte.luma):
        found *= _membership(luma.ravel()[at], matte.luma)
    if half < math.pi or not _open(matte.chroma):
        red, blue = red.ravel()[at], blue.ravel()[at]
        x, y = _sum(along[0], red, along[1], blue), _sum(across[0], red, across[1], blue)
        chroma = x * x
        chroma += y * y
        np.sqrt(chroma, out=chroma)
        if not _open(matte.chroma):
            found *= _membership(chroma, matte.chroma)
        if half < math.pi:
            _take_hues(found, x, y, chroma, half, soft)
    result = np.zeros(green.shape, np.float32)
    result.ravel()[at] = found
    return result


def _take_hues(result: Plane, x: Plane, y: Plane, chroma: Plane, half: float, soft: float) -> None:
    """Multiplies by the membership of the angle between a colour and x, from its cosine where that is enough."""
    surely = x >= chroma * np.float32(math.cos(half) + MARGIN)
    perhaps = x >= chroma * np.float32(math.cos(min(half + soft, math.pi)) - MARGIN)
    perhaps &= chroma >= NO_HUE
    result *= perhaps
    perhaps &= ~surely
    beyond = np.arctan2(np.abs(y[perhaps]), x[perhaps]) - np.float32(half)
    result[perhaps] *= _smoothstep(1 - beyond / soft) if soft else beyond <= 0


def _touched(values: Plane, interval: Interval) -> npt.NDArray[np.bool_]:
    """Where a membership may be above 0."""
    low, high = ends(interval)
    return (values >= low - interval.soft) & (values <= high + interval.soft)


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
