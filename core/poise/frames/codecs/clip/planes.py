"""Converts between Y'CbCr planes and R'G'B' pixels of the same depth and range.

Subsampled chroma is interpolated linearly. It is co-sited with every other luma sample of a row, and midway between two
rows (4:2:0, as in MPEG-2).

Source: ITU-R BT.601-7, 2.5; BT.709-6, items 3 and 4; BT.2020-2, tables 4 and 5. Narrow range has 219 steps of luma and
224 of chroma, full range all codes (BT.2100-2, table 9).
"""

from collections.abc import Sequence
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

Plane = npt.NDArray[np.uint8] | npt.NDArray[np.uint16]
Places = npt.NDArray[np.intp]
Shares = npt.NDArray[np.float32]

WEIGHTS = {"BT.601": (0.299, 0.114), "BT.709": (0.2126, 0.0722), "BT.2020": (0.2627, 0.0593)}
"""The luma coefficients of red and blue."""

_ROWS = 64
"""The number of rows that are converted at a time, small enough for the processor's cache."""


def rgb(planes: Sequence[Plane], bits: int, matrix: str, narrow: bool) -> npt.NDArray[np.uint8 | np.uint16]:
    """Converts Y'CbCr planes to R'G'B', within half a code of exact arithmetic; codes beyond the depth are clipped.

    Args:
        planes: Y', Cb and Cr in integer codes, (height, width) each; chroma may be subsampled by 2 either way.
        bits: the depth of a code.
        matrix: a key of `WEIGHTS`.
        narrow: whether the codes have narrow range; the result has the same range.

    Returns:
        (height, width, 3), of the type of the planes.

    Raises:
        KeyError: an unknown matrix.

    Example:
        >>> grey = [np.full((2, 2), code, np.uint8) for code in (100, 128, 128)]
        >>> rgb(grey, 8, "BT.709", narrow=True)[0, 0].tolist()
        [100, 100, 100]
    """
    luma, blue, red = planes
    kr, kb = WEIGHTS[matrix]
    step = 219 / 224 if narrow else 1.0
    to_red, to_blue = np.float32(2 * (1 - kr) * step), np.float32(2 * (1 - kb) * step)
    red_in_green, blue_in_green = (np.float32(one / (1 - kr - kb)) for one in (to_red * kr, to_blue * kb))
    result = np.empty((*luma.shape, 3), luma.dtype)
    middle, most = np.float32(2 ** (bits - 1)), np.float32(2**bits - 1)
    for top in range(0, len(luma), _ROWS):
        rows = slice(top, min(top + _ROWS, len(luma)))
        y = luma[rows] + np.float32(0.5)  # so that the truncation below rounds
        cb, cr = (_at_luma(plane, luma.shape, rows) - middle for plane in (blue, red))
        green = y - red_in_green * cr
        green -= blue_in_green * cb
        cr *= to_red  # in place, since a new array costs as much as the arithmetic
        cr += y
        cb *= to_blue
        cb += y
        codes: list[Any] = [np.clip(channel, 0, most, out=channel).astype(luma.dtype) for channel in (cr, green, cb)]
        cv2.merge(codes, result[rows])
    return result


def _at_luma(plane: Plane, size: tuple[int, ...], rows: slice) -> npt.NDArray[np.float32]:
    """Some rows of a chroma plane, interpolated at the positions of luma."""
    height, width = size
    down, across = -(-height // len(plane)), -(-width // plane.shape[1])
    if down == 1:
        part = plane[rows].astype(np.float32)
    else:
        low, high, share = _between((np.arange(rows.start, rows.stop) + 0.5) / down - 0.5, len(plane))
        part = plane[low] * (1 - share[:, None]) + plane[high] * share[:, None]
    if across == 1:
        return part
    if across == 2:  # as below, but faster
        between = part.copy()
        between[:, :-1] += part[:, 1:]
        between[:, :-1] *= np.float32(0.5)
        return np.asarray(cv2.merge([part, between]), np.float32).reshape(len(part), -1)[:, :width]
    low, high, share = _between(np.arange(width) / across, plane.shape[1])
    return part[:, low] * (1 - share) + part[:, high] * share


def _between(places: npt.NDArray[np.float64], count: int) -> tuple[Places, Places, Shares]:
    """The samples before and after each position, and the weight of the second; the ends are repeated."""
    low = np.floor(places).astype(np.intp)
    share = (places - low).astype(np.float32)
    return np.clip(low, 0, count - 1), np.clip(low + 1, 0, count - 1), share


def ycbcr(
    pixels: npt.NDArray[np.uint8 | np.uint16], bits: int, matrix: str, narrow: bool, across: int, down: int
) -> list[Plane]:
    """Converts R'G'B' to Y'CbCr planes, the inverse of `rgb`, with chroma filtered before it is subsampled.

    The filter is 1/4, 1/2, 1/4 along a row, and 1/2, 1/2 across rows.

    Args:
        pixels: (height, width, 3) in integer codes.
        bits: the depth of a code.
        matrix: a key of `WEIGHTS`.
        narrow: whether the codes have narrow range; the result has the same range.
        across, down: the chroma subsampling along a row and across rows, 1 or 2.

    Returns:
        Y', Cb and Cr, of the type of the pixels.

    Raises:
        KeyError: an unknown matrix.

    Example:
        >>> [plane[0, 0].item() for plane in ycbcr(np.full((2, 2, 3), 100, np.uint8), 8, "BT.709", True, 2, 1)]
        [100, 128, 128]
    """
    kr, kb = WEIGHTS[matrix]
    step = 224 / 219 if narrow else 1.0
    middle, most, half = np.float32(2 ** (bits - 1)), np.float32(2**bits - 1), np.float32(0.5)
    height, width = pixels.shape[:2]
    planes: list[Any] = [np.empty((height, width), pixels.dtype)]
    planes += [np.empty((-(-height // down), -(-width // across)), pixels.dtype) for _ in range(2)]
    for top in range(0, height, _ROWS):
        parts = cv2.split(pixels[top : top + _ROWS])
        red, green, blue = (np.asarray(part).astype(np.float32) for part in parts)
        luma = np.float32(kr) * red
        green *= np.float32(1 - kr - kb)
        luma += green
        luma += np.float32(kb) * blue
        rows = slice(top // down, -(-min(top + _ROWS, height) // down))
        for plane, channel, weight in ((planes[1], blue, kb), (planes[2], red, kr)):
            channel -= luma
            channel *= np.float32(step / (2 * (1 - weight)))
            chroma = _at_chroma(channel, across, down)
            chroma += middle + half
            plane[rows] = np.clip(chroma, 0, most, out=chroma)
        luma += half
        planes[0][top : top + _ROWS] = np.clip(luma, 0, most, out=luma)
    return planes


def _at_chroma(values: npt.NDArray[np.float32], across: int, down: int) -> npt.NDArray[np.float32]:
    """Filters chroma at the resolution of luma, and subsamples it."""
    if across == 2:
        if values.shape[1] % 2:
            values = np.pad(values, ((0, 0), (0, 1)), mode="edge")
        own, next_to = (np.asarray(half, np.float32) for half in cv2.split(values.reshape(len(values), -1, 2)))
        next_to *= np.float32(0.25)
        first = own[:, 0] * np.float32(0.25)
        values = own * np.float32(0.5) + next_to
        values[:, 1:] += next_to[:, :-1]
        values[:, 0] += first
    if down == 2:
        values = (values[::2] + np.concatenate([values, values[-1:]])[1::2]) * np.float32(0.5)
    return values
