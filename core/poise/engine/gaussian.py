"""The Gaussian blur of a matte in float32, on OpenCV, at a cost that hardly grows with sigma.

A wide blur runs on a picture of half the size. The binomials that lead there and back are a variance of one pixel
each, and variances add; against a blur as wide as `WIDE` what they lack of a Gaussian, and what aliases, is below 5e-5.
"""

import math
from concurrent.futures import Executor

import cv2
import numpy as np
import numpy.typing as npt

from poise.chain.matte import reach

Plane = npt.NDArray[np.float32]

WIDE = 6.0
"""From this sigma on, half the size is enough."""
ROWS = 128
"""Of a strip; each also reads the rows that its blur reaches."""

BEFORE, AFTER = 2, 3
"""So far beyond the picture's edges, a pixel of half the size sees nothing but the edge."""

cv2.setNumThreads(1)  # strips go to the caller's threads


def blur(values: Plane, sigma: float, pool: Executor) -> Plane:
    """The blurred matte, within 1e-4 of `poise.chain.matte.blur`; the same whatever the pool.

    Args:
        values: (height, width), 0..1.
        sigma: in pixels.

    Example:
        with ThreadPoolExecutor(2) as pool: blur(values, 8.6, pool)
    """
    if reach(sigma) < 1:
        return values
    if sigma < WIDE:
        return _narrow(values, sigma, pool)
    edged = cv2.copyMakeBorder(values, BEFORE, AFTER, BEFORE, AFTER, cv2.BORDER_REPLICATE)
    half = blur(cv2.pyrDown(edged), math.sqrt(sigma**2 - 2) / 2, pool)
    return cv2.pyrUp(half, dstsize=edged.shape[::-1])[BEFORE:-AFTER, BEFORE:-AFTER]


def _narrow(values: Plane, sigma: float, pool: Executor) -> Plane:
    radius = reach(sigma)
    result = np.empty_like(values)

    def strip(top: int) -> None:
        above = min(radius, top)
        seen = values[top - above : top + ROWS + radius]
        size = 2 * radius + 1, 2 * radius + 1
        out = cv2.GaussianBlur(seen, size, sigma, borderType=cv2.BORDER_REPLICATE)[above : above + ROWS]
        np.minimum(out, 1, out=result[top : top + ROWS])

    for _ in pool.map(strip, range(0, len(values), ROWS)):
        pass
    return result
