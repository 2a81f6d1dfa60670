"""The exact median of a matte: by OpenCV for a small square; for a larger one, without sorting most of the matte.

Counting the zeros and the ones around each pixel takes additions of whole arrays; only where neither are the majority
is the median computed by sorting.
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
"""The largest radius for which OpenCV has a median of floats."""
ROWS = 64
AT_ONCE = 1 << 16
"""How many values are sorted at a time."""


def denoise(values: Plane, radius: int, pool: Executor) -> Plane:
    """`poise.chain.matte.denoise` of a matte in float32; the result doesn't depend on the pool.

    Args:
        values: (height, width), 0..1.
        radius: in pixels.
        pool: runs the strips.

    Example:
        with ThreadPoolExecutor(2) as pool: denoise(values, 2, pool)
    """
    if radius < 1:
        return values
    if radius <= SMALL:
        return _small(values, radius, pool)
    padded = np.pad(values, radius, mode="edge")
    result = np.empty_like(values)
    offsets = radius + places(radius)

    def strip(strip_rows: slice) -> None:
        part = padded[strip_rows.start : strip_rows.stop + 2 * radius]
        out = result[strip_rows]
        if not cv2.countNonZero(part):
            out[:] = 0
            return
        majority = len(offsets) ** 2 // 2
        out[:] = _count(part >= 1, offsets, out.shape) > majority
        undecided = (out == 0) & (_count(part <= 0, offsets, out.shape) <= majority)
        rows, columns = np.nonzero(undecided)
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
        part = values[rows.start - above : rows.stop + radius]
        median = cv2.medianBlur(part, 2 * radius + 1) if cv2.countNonZero(part) else part
        result[rows] = median[above : above + ROWS]

    strips(strip, values.shape[0], ROWS, pool)
    return result


def _count(marked: npt.NDArray[np.bool_], offsets: npt.NDArray[Any], shape: tuple[int, ...]) -> npt.NDArray[np.uint8]:
    """How many of the sampled places around each pixel are marked."""
    height, width = shape
    ones = marked.view(np.uint8)
    tall = np.zeros((height, ones.shape[1]), np.uint8)
    for offset in offsets:
        tall += ones[offset : offset + height]
    total = np.zeros(shape, np.uint8)
    for offset in offsets:
        total += tall[:, offset : offset + width]
    return total
