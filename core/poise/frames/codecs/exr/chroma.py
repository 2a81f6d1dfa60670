"""Converts luminance and chroma (Y, RY, BY) of OpenEXR to R, G, B and back; chroma has one sample per 2 x 2 pixels.

Y is weighted by the file's primaries, RY = (R - Y) / Y, BY = (B - Y) / Y. Chroma is filtered along rows, then columns.

Source: "Technical Introduction to OpenEXR" (openexr.com), "Luminance/Chroma Images"; ImfRgbaYca.h describes the two
filters of 27 taps and the limit to saturation, which keeps interpolated chroma from colouring dark pixels beside
bright ones.
"""

import struct

import numpy as np
import numpy.typing as npt

from poise.frames.codecs.exr.file import Attributes
from poise.frames.frame import Pixels

Plane = npt.NDArray[np.float32]
Weights = npt.NDArray[np.float64]

_BT709 = (0.64, 0.33, 0.30, 0.60, 0.15, 0.06, 0.3127, 0.3290)
"""x and y of red, green, blue and white; the default of a file without chromaticities."""
_BETWEEN = (0.627123, -0.186077, 0.087929, -0.043159, 0.019597, -0.007540, 0.002128)
"""Taps 1, 3, ... 13 on either side of a sample that is interpolated."""
_CENTRE = 0.499846
_AROUND = (0.313659, -0.093067, 0.043978, -0.021586, 0.009801, -0.003771, 0.001064)
"""Taps 1, 3, ... 13 on either side of a sample that is kept."""
_LARGEST = 65504
"""The limit of RY and BY: the largest half."""


def weights(attributes: Attributes) -> Weights:
    """The luminance of full red, green and blue, (3,), with a sum of 1.

    Raises:
        ValueError: the chromaticities are not valid.
    """
    value = attributes.get(b"chromaticities", (b"", b""))[1]
    found = struct.unpack("<8f", value) if len(value) == 32 else _BT709
    x, y = np.array(found).reshape(4, 2).T
    try:
        with np.errstate(all="raise"):
            xyz = np.array([x / y, np.ones(4), (1 - x - y) / y])
            made: Weights = np.linalg.solve(xyz[:, :3], xyz[:, 3])
    except (ArithmeticError, np.linalg.LinAlgError) as fault:
        raise ValueError("its chromaticities are not valid") from fault
    return made


def to_rgb(y: Pixels, ry: Pixels, by: Pixels, by_weights: Weights) -> Plane:
    """R, G, B, (height, width, 3), from luminance and chroma.

    Args:
        y: (height, width), both even.
        ry, by: (height / 2, width / 2).
        by_weights: as `weights` returns them.
    """
    luminance = y.astype(np.float32)
    chroma = np.stack([ry, by], axis=-1).astype(np.float32)
    across = _between(chroma, 1, 0)
    # with a row above the first, needed to limit the saturation of the first
    tall = np.concatenate([_between(across[:7], 0, 1)[:1], _between(across, 0, 0)])
    rgb = _rgb(np.concatenate([luminance[:1], luminance]), tall, by_weights)
    return _limited(np.concatenate([rgb, rgb[-2:-1]]), by_weights)


def from_rgb(rgb: Pixels, by_weights: Weights) -> tuple[Plane, Plane, Plane]:
    """Y, and RY and BY at half the width and height; negative and infinite values, which can't be stored, count as 0.

    Args:
        rgb: (height, width, 3), both even.
        by_weights: as `weights` returns them.
    """
    values = rgb.astype(np.float32)
    values[~(np.isfinite(values) & (values >= 0))] = 0
    y: Plane = (values @ by_weights).astype(np.float32)
    grey = (values[..., 0] == values[..., 1]) & (values[..., 1] == values[..., 2])
    y[grey] = values[grey, 1]
    above = values[..., ::2] - y[..., None]
    fits = (np.abs(above) < _LARGEST * y[..., None]) & ~grey[..., None]
    chroma = np.divide(above, y[..., None], out=np.zeros_like(above), where=fits)
    for axis in (1, 0):
        chroma = _around(chroma, axis)
    return y, chroma[..., 0], chroma[..., 1]


def _between(samples: Plane, axis: int, before: int) -> Plane:
    """Twice as many samples along an axis: each given one, followed by an interpolated one.

    Args:
        before: how many samples earlier to start, with an interpolated one.
    """
    count = samples.shape[axis]
    at = np.arange(-before, count)
    made = sum(
        tap * (_taken(samples, at - place, axis, count - 1) + _taken(samples, at + 1 + place, axis, count - 1))
        for place, tap in enumerate(map(np.float32, _BETWEEN))
    )
    both: Plane = np.stack([_taken(samples, at, axis, count - 1), made], axis=axis + 1)
    shape = list(samples.shape)
    shape[axis] = 2 * len(at)
    flat: Plane = both.reshape(shape)
    return np.delete(flat, np.arange(before), axis=axis) if before else flat


def _around(samples: Plane, axis: int) -> Plane:
    """Half as many samples along an axis: every other one of the filtered samples."""
    count = samples.shape[axis]
    at = np.arange(0, count, 2)
    made: Plane = np.float32(_CENTRE) * np.take(samples, at, axis)
    for place, tap in enumerate(map(np.float32, _AROUND)):
        off = 2 * place + 1
        made += tap * (_taken(samples, at - off, axis, count - 2) + _taken(samples, at + off, axis, count - 2))
    return made


def _taken(samples: Plane, at: npt.NDArray[np.intp], axis: int, last: int) -> Plane:
    """Samples along an axis; indexes before the first give the first, indexes after the end give `last`."""
    inside = np.where(at >= samples.shape[axis], last, np.maximum(at, 0))
    return np.take(samples, inside, axis)


def _rgb(y: Plane, chroma: Plane, by_weights: Weights) -> Plane:
    made = np.empty((*y.shape, 3), np.float32)
    made[..., 0] = (chroma[..., 0] + 1) * y
    made[..., 2] = (chroma[..., 1] + 1) * y
    red, green, blue = map(np.float32, by_weights)
    made[..., 1] = (y - made[..., 0] * red - made[..., 2] * blue) / green
    grey = (chroma == 0).all(axis=-1)
    made[grey] = y[grey, None]
    return made


def _limited(rgb: Plane, by_weights: Weights) -> Plane:
    """All rows but the first and last, with the saturation of pixels limited by that of their neighbours."""
    with np.errstate(invalid="ignore", over="ignore"):
        most, least = rgb.max(axis=-1), rgb.min(axis=-1)
        saturation = np.where(most > 0, 1 - np.divide(least, most, out=np.zeros_like(most), where=most > 0), 0)
        wide = np.pad(saturation, ((0, 0), (1, 1)), mode="edge")
        mean = np.minimum(1, (wide[:-2, :-2] + wide[:-2, 2:] + wide[2:, :-2] + wide[2:, 2:]) / 4)
        limit = np.minimum(1, 1 - (1 - mean) / 4)
        own, made = saturation[1:-1], rgb[1:-1].copy()
        above = (own > mean) & (own > limit)
        colour, top = made[above], most[1:-1][above][:, None]
        less = np.maximum(top - (top - colour) * (limit[above] / own[above])[:, None], 0)
        before, after = colour @ by_weights, less @ by_weights
        kept = np.divide(before, after, out=np.ones_like(before), where=after > 0)
        made[above] = less * kept[:, None]
    return made
