"""The key of a matte in float32: `poise.chain.matte.key`, computed only where it may be above 0."""

import math

import cv2
import numpy as np
import numpy.typing as npt

from poise.chain.matte import NO_HUE, arc, ends
from poise.colour.luma import Weights
from poise.correction.model import Interval, Matte

Plane = npt.NDArray[np.float32]
Planes = npt.NDArray[np.float32]
Vector = npt.NDArray[np.float64]

MARGIN = 1e-6
"""Safety margin for float32: of a cosine before the angle itself is computed, and of a value at the end of a range."""


def key(rgb: Planes, matte: Matte, by: Weights, result: Plane) -> None:
    """Compute hue x chroma x luma of work code, within 1e-4 of the float64 formula.

    Args:
        rgb: (3, rows, width) work code.
        by: the luma weights.
        result: (rows, width), contiguous; overwritten with the key, 0..1.

    Example:
        key(work, Matte("buoy", luma=Interval(0.5, 1)), BT709, np.empty(work.shape[1:], np.float32))
    """
    middle, half, soft = (math.radians(angle) for angle in (*arc(matte.hue), matte.hue.soft))
    # the axes of Cb and Cr, rotated so that the middle of the hue range is at x
    cb = np.array([-by.red, 1 - by.blue]) * 0.5 / (1 - by.blue)
    cr = np.array([1 - by.red, -by.blue]) * 0.5 / (1 - by.red)
    along, across = math.cos(middle) * cb + math.sin(middle) * cr, math.cos(middle) * cr - math.sin(middle) * cb

    result[:] = 0
    at = np.flatnonzero(_possible(rgb, matte, by, along, half + soft))
    if not len(at):
        return
    red, green, blue = (plane.ravel().take(at) for plane in rgb)  # differences from green are exactly 0 for a neutral
    red -= green
    blue -= green
    found = np.ones(len(at), np.float32)
    if not _open(matte.luma):
        found *= _membership(_sum(by.red, red, by.blue, blue) + green, matte.luma)
    if half < math.pi or not _open(matte.chroma):
        x, y = _sum(along[0], red, along[1], blue), _sum(across[0], red, across[1], blue)
        chroma = x * x
        chroma += y * y
        np.sqrt(chroma, out=chroma)
        if not _open(matte.chroma):
            found *= _membership(chroma, matte.chroma)
        if half < math.pi:
            _multiply_hues(found, x, y, chroma, half, soft)
    result.ravel()[at] = found


def _multiply_hues(result: Plane, x: Plane, y: Plane, chroma: Plane, half: float, soft: float) -> None:
    """Multiply by the membership of the angle from x; the cosine decides where possible, as it is faster."""
    surely = x >= chroma * np.float32(math.cos(half) + MARGIN)
    perhaps = x >= chroma * np.float32(math.cos(min(half + soft, math.pi)) - MARGIN)
    perhaps &= chroma >= NO_HUE
    result *= perhaps
    perhaps &= ~surely
    beyond = np.arctan2(np.abs(y[perhaps]), x[perhaps]) - np.float32(half)
    result[perhaps] *= _smoothstep(1 - beyond / soft) if soft else beyond <= 0


def _possible(rgb: Planes, matte: Matte, by: Weights, along: Vector, reach: float) -> npt.NDArray[np.bool_]:
    """(rows, width), where the key may be above 0, judged by luma and x alone.

    Args:
        along: the weights of red and blue in x.
        reach: the largest angle from x, in radians, at which a hue may belong to the range.
    """
    possible = np.ones(rgb.shape[1:], bool)
    if not _open(matte.luma):
        low, high = ends(matte.luma)
        luma = _mixed(rgb, by.red, by.green, by.blue)
        possible &= luma >= np.float32(low - matte.luma.soft - MARGIN)
        possible &= luma <= np.float32(high + matte.luma.soft + MARGIN)
    if reach < math.pi / 2:  # a colour near the hue and far from neutral has a large x
        nearest = max(matte.chroma.low - matte.chroma.soft, NO_HUE) * math.cos(reach)
        possible &= _mixed(rgb, along[0], -along[0] - along[1], along[1]) >= np.float32(nearest - MARGIN)
    return possible


def _mixed(rgb: Planes, red: float, green: float, blue: float) -> Plane:
    """The weighted sum of the channels, in two passes by OpenCV."""
    return np.asarray(cv2.scaleAdd(rgb[2], blue, cv2.addWeighted(rgb[0], red, rgb[1], green, 0)), np.float32)


def _sum(a: float, one: Plane, b: float, other: Plane) -> Plane:
    """a one + b other."""
    result = np.float32(a) * one
    result += np.float32(b) * other
    return result


def _open(interval: Interval) -> bool:
    return interval.low <= 0 and interval.high >= 1


def _membership(values: Plane, interval: Interval) -> Plane:
    """`poise.chain.matte.membership` of a range that doesn't select everything."""
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
    """3t^2 - 2t^3, with t clamped to 0..1; overwrites t."""
    np.clip(t, 0, 1, out=t)
    rest = t * -2
    rest += 3
    t *= t
    t *= rest
    return t
