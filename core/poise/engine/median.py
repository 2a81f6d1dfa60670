"""The median of a matte, exact: OpenCV's for a small square; a larger one without sorting most of the matte.

How many of the places are 0, and how many are 1, takes additions of whole arrays; only where neither has the majority
are the values sorted out.
"""

from concurrent.futures import Executor
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

from poise.chain.matte import places
from poise.engine.strips import strips

Plane = npt.NDArray[np.float32]

SMALL = 2
"""Up to this radius OpenCV has a median of floats."""
ROWS = 64
AT_ONCE = 1 << 16
"""Values looked at together where they are sorted out."""


def denoise(values: Plane, radius: int, pool: Executor) -> Plane:
    """`poise.chain.matte.denoise` of a matte; the same whatever the pool.

    Args:
        values: (height, width), 0..1.
        radius: in pixels.

    Example:
        with ThreadPoolExecutor(2) as pool: denoise(values, 2, pool)
    """
    if radius < 1:
        return values
    if radius <= SMALL:
        return _small(values, radius, pool)
    seen = np.pad(values, radius, mode="edge")
    result = np.empty_like(values)
    offsets = radius + places(radius)

    def strip(strip_rows: slice) -> None:
        part = seen[strip_rows.start : strip_rows.stop + 2 * radius]
        out = result[strip_rows]
        majority = len(offsets) ** 2 // 2
        out[:] = _count(part >= 1, offsets, out.shape) > majority
        open_ = (out == 0) & (_count(part <= 0, offsets, out.shape) <= majority)
        rows, columns = np.nonzero(open_)
        window = (offsets[:, None] * part.shape[1] + offsets).ravel()
        first = rows * part.shape[1] + columns
        step = AT_ONCE // window.size
        for start in range(0, len(first), step):
            found = part.ravel()[first[start : start + step, None] + window]
            found.partition(majority, axis=1)
            out[rows[start : start + step], columns[start : start + step]] = found[:, majority]

    strips(strip, values.shape[0], ROWS, pool)
    return result


def _small(values: Plane, radius: int, pool: Executor) -> Plane:
    result = np.empty_like(values)

    def strip(rows: slice) -> None:
        above = min(radius, rows.start)
        seen = cv2.medianBlur(values[rows.start - above : rows.stop + radius], 2 * radius + 1)
        result[rows] = seen[above : above + ROWS]

    strips(strip, values.shape[0], ROWS, pool)
    return result


def _count(marked: npt.NDArray[np.bool_], offsets: npt.NDArray[Any], shape: tuple[int, ...]) -> npt.NDArray[np.uint8]:
    """How many of the places about each pixel are marked."""
    height, width = shape
    ones = marked.view(np.uint8)
    tall = np.zeros((height, ones.shape[1]), np.uint8)
    for offset in offsets:
        tall += ones[offset : offset + height]
    total = np.zeros(shape, np.uint8)
    for offset in offsets:
        total += tall[:, offset : offset + width]
    return total
