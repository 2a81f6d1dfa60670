"""Mattes: a range of colours becomes a 0..1 mask, and a correction acts inside it.

A range is one of hue angle, chroma and luma of Y'CbCr in work code. Membership is 1 from low to high and falls to 0 by
smoothstep over `soft` beyond either end. The matte is hue x chroma x luma, then inverted, denoised (median) and blurred
(Gaussian).
"""

import math

import numpy as np
import numpy.typing as npt

from poise.chain import balance, saturation
from poise.chain.stage import Array, Clamp, Linear, PerChannel, Stage
from poise.colour import luma as y
from poise.colour.transfer import decode, encode
from poise.correction.model import HueInterval, Inside, Interval, Levels, Matte

Mask = npt.NDArray[np.bool_]

NO_HUE = 1 / 65535
"""Chroma below this, one 16-bit code, is neutral: it has no hue, and only a range of all hues selects it."""

TRUNCATE = 4.0
"""The Gaussian is cut off at this many sigmas; farther than that from what it selects, a matte is exactly 0."""

PLACES = 11
"""The median samples at most this many rows and columns, spread evenly over a larger square."""


def is_neutral(inside: Inside) -> bool:
    """Whether the correction inside a matte changes nothing."""
    return inside == Inside()


def active(mattes: tuple[Matte, ...]) -> tuple[Matte, ...]:
    """The mattes that change something, in order: those that are on and not neutral inside.

    Example:
        >>> active((Matte("buoy"), Matte("quay", on=False, inside=Inside(exposure=1))))
        ()
    """
    return tuple(matte for matte in mattes if matte.on and not is_neutral(matte.inside))


def ends(interval: Interval) -> tuple[float, float]:
    """Low and high; an end at 0 or 1 is open, so that 0..1 also selects values outside the scale.

    Example:
        >>> ends(Interval(0, 0.5))
        (-inf, 0.5)
    """
    low = -math.inf if interval.low <= 0 else interval.low
    return low, math.inf if interval.high >= 1 else interval.high


def arc(hue: HueInterval) -> tuple[float, float]:
    """The middle and half the width of a hue range in degrees, counter-clockwise from low to high; 180 is all hues.

    Example:
        >>> arc(HueInterval(340, 20)), arc(HueInterval(20, 340))
        ((0.0, 20.0), (180.0, 160.0))
    """
    width = hue.high - hue.low if hue.high >= hue.low else hue.high - hue.low + 360
    return (hue.low + width / 2) % 360, width / 2


def smoothstep(t: Array) -> Array:
    """3t^2 - 2t^3, with t clamped to 0..1.

    Example:
        >>> smoothstep(np.array([-1, 0.25, 2])).tolist()
        [0.0, 0.15625, 1.0]
    """
    t = np.clip(t, 0, 1)
    return t * t * (3 - 2 * t)


def fall(distance: Array, soft: float) -> Array:
    """The membership at a distance beyond the end of a range: 1 up to the end, 0 at `soft` and beyond."""
    return smoothstep(1 - distance / soft) if soft > 0 else (distance <= 0).astype(np.float64)


def membership(values: Array, interval: Interval) -> Array:
    """The membership of values in a range, 0..1, any shape; a range whose low is above its high selects nothing.

    Example:
        >>> membership(np.array([0.1, 0.2, 0.5]), Interval(0.2, 0.4, 0.2)).round(9).tolist()
        [0.5, 1.0, 0.5]
    """
    if interval.low > interval.high:
        return np.zeros_like(values)
    low, high = ends(interval)
    return fall(np.maximum(low - values, values - high), interval.soft)


def hue_membership(degrees: Array, hue: HueInterval) -> Array:
    """The membership of hue angles in a range, 0..1, any shape; the range may wrap past 360 degrees.

    Example:
        >>> hue_membership(np.array([340.0, 335.0, 330.0]), HueInterval(340, 20, 10)).round(12).tolist()
        [1.0, 0.5, 0.0]
    """
    middle, half = arc(hue)
    away = np.abs((degrees - middle + 180) % 360 - 180)
    return np.ones_like(degrees) if half >= 180 else fall(away - half, hue.soft)


def key(rgb: Array, matte: Matte, by: y.Weights = y.BT709) -> Array:
    """The key of work code, hue x chroma x luma, before invert, denoise and blur.

    Args:
        rgb: (..., 3) work code, 0..1.

    Returns:
        (...), 0..1. A neutral pixel has no hue: only a range of all hues selects it.

    Example:
        >>> key(np.array([[0.2, 0.2, 0.2], [0.8, 0.8, 0.8]]), Matte("quay", luma=Interval(0.5, 1.0))).tolist()
        [0.0, 1.0]
    """
    luma, cb, cr = np.moveaxis(np.asarray(y.to_ycbcr(rgb, by), np.float64), -1, 0)
    chroma = np.asarray(y.chroma(cb, cr), np.float64)
    hues = hue_membership(np.asarray(y.hue(cb, cr), np.float64), matte.hue)
    if arc(matte.hue)[1] < 180:
        hues = np.where(chroma < NO_HUE, 0.0, hues)
    return np.asarray(hues * membership(chroma, matte.chroma) * membership(luma, matte.luma), np.float64)


def radius(share: float, height: int) -> int:
    """The median's radius in pixels for a share of picture height, rounded.

    Example:
        >>> radius(0.001, 2160), radius(0.001, 540)
        (2, 1)
    """
    return math.floor(share * height + 0.5)


def reach(sigma: float) -> int:
    """The radius of the Gaussian in pixels, for a sigma in pixels."""
    return int(TRUNCATE * sigma + 0.5)


def mask(rgb: Array, matte: Matte, by: y.Weights = y.BT709, lost: Mask | None = None) -> Array:
    """The finished matte of a picture.

    Median and Gaussian repeat the edge pixels beyond the picture.

    Args:
        rgb: (height, width, 3) work code.
        lost: (height, width), True for pixels that are not finite; the key is 0 there.

    Returns:
        (height, width), 0..1.
    """
    values = key(np.where(lost[..., None], 0, rgb) if lost is not None else rgb, matte, by)
    kept = 1 - lost if lost is not None else 1
    values = (1 - values if matte.invert else values) * kept
    height = rgb.shape[0]
    return blur(denoise(values, radius(matte.denoise, height)), matte.blur * height) * kept


def places(radius: int) -> npt.NDArray[np.intp]:
    """The offsets that the median samples along either axis: whole pixels from -radius to radius.

    Example:
        >>> places(2).tolist(), places(10).tolist()
        ([-2, -1, 0, 1, 2], [-10, -8, -6, -4, -2, 0, 2, 4, 6, 8, 10])
    """
    return np.rint(np.linspace(-radius, radius, min(2 * radius + 1, PLACES))).astype(np.intp)


def denoise(values: Array, radius: int) -> Array:
    """The median over a square of 2 radius + 1 pixels a side, sampled at `places`; `values` itself for radius 0."""
    if radius < 1:
        return values
    at = radius + places(radius)
    padded = np.pad(values, radius, mode="edge")
    columns = np.arange(values.shape[1])[:, None] + at
    return np.stack([np.median(padded[row + at][:, columns], axis=(0, 2)) for row in range(values.shape[0])])


def blur(values: Array, sigma: float) -> Array:
    """The values blurred by a Gaussian with a sigma in pixels, cut off at `reach`."""
    if reach(sigma) < 1:
        return values
    from scipy.ndimage import gaussian_filter

    return np.asarray(gaussian_filter(values, sigma, mode="nearest", radius=reach(sigma)))


def inside_stages(inside: Inside, work: str, by: y.Weights, clamp: bool) -> list[Stage]:
    """The stages of the correction inside a matte: exposure in light, balance, saturation, hue rotation.

    Args:
        work: the transfer function of work code.
        by: the luma weights of the hue rotation.
        clamp: clamp to 0..1 where ASC CDL does and at the end; for integer delivery.
    """
    steps: list[Stage] = []
    if inside.exposure:
        gain = 2.0**inside.exposure
        steps.append(PerChannel(lambda code: encode(work, decode(work, code) * gain), alike=True))
    steps += balance.stages(inside.balance, Levels(), clamp)
    steps += saturation.stages(inside.saturation)
    if inside.turn:
        steps += [Clamp()] * clamp + [Linear(turn(inside.turn, by), np.zeros(3))]
    return steps + [Clamp()] * clamp


def turn(degrees: float, by: y.Weights = y.BT709) -> Array:
    """The 3x3 matrix that rotates (Cb, Cr) counter-clockwise and keeps luma.

    Example:
        >>> red = turn(90) @ [1.0, 0.0, 0.0]
        >>> round(float(y.to_ycbcr(red)[0]), 4)  # the luma of red
        0.2126
    """
    into = y.to_ycbcr(np.eye(3), by).T.astype(np.float64)
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    rotation = np.array([[1, 0, 0], [0, c, -s], [0, s, c]])
    return np.asarray(np.linalg.inv(into) @ rotation @ into, np.float64)


def blend(rgb: Array, inside: Array, values: Array) -> Array:
    """Blend a picture with its correction inside a matte: exactly the picture where the matte is 0.

    Args:
        rgb, inside: (height, width, 3) work code, without and with the correction.
        values: (height, width), the matte, 0..1.
    """
    return rgb + values[..., None] * (inside - rgb)
