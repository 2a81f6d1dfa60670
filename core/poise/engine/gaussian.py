"""The Gaussian blur of a matte in float32, on OpenCV, at a cost that hardly grows with sigma.

A wide blur runs on a picture of half the size. The binomials that lead there and back are a variance of one pixel
each, and variances add; of a blur as wide as `WIDE`, what they lack of a Gaussian, and what aliases, is below 7e-5.
It ends up to a fifth farther out than `chain.matte.reach` says, where values are below 2e-5.
"""

import math
from collections.abc import Callable
from concurrent.futures import Executor

import cv2
import numpy as np
import numpy.typing as npt
from cv2.typing import MatLike

from poise.chain.matte import reach
from poise.engine.strips import strips

Plane = npt.NDArray[np.float32]

WIDE = 6.0
"""From this sigma on, half the size is enough."""
ROWS = 256
"""Of a strip; each also reads the rows that its blur reaches."""

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
    half = blur(_halved(values, pool), math.sqrt(sigma**2 - 2) / 2, pool)
    return _doubled(half, values.shape, pool)


def _narrow(values: Plane, sigma: float, pool: Executor) -> Plane:
    radius = reach(sigma)
    size = 2 * radius + 1, 2 * radius + 1

    def rows(top: int) -> MatLike:
        above = min(radius, top)
        seen = values[top - above : top + ROWS + radius]
        blurred = cv2.GaussianBlur(seen, size, sigma, borderType=cv2.BORDER_REPLICATE)[above:]
        return np.minimum(blurred, 1, out=blurred)

    return _made(rows, values.shape, pool)


def _halved(values: Plane, pool: Executor) -> Plane:
    """Every other pixel of a binomial blur, from 2 before the first to one that sees nothing but the last."""
    height, width = values.shape
    seen = cv2.copyMakeBorder(values, 4, 5, 2, 3, cv2.BORDER_REPLICATE)

    def rows(top: int) -> MatLike:
        return cv2.pyrDown(seen[2 * top : 2 * (top + ROWS) + 4])[1:]

    return _made(rows, (height // 2 + 3, width // 2 + 3), pool)


def _doubled(half: Plane, shape: tuple[int, ...], pool: Executor) -> Plane:
    """The picture that `_halved` made half of, between its pixels by the same binomial."""

    def rows(top: int) -> MatLike:
        return cv2.pyrUp(half[top // 2 : (top + ROWS) // 2 + 2])[2:, 2:]

    return _made(rows, shape, pool)


def _made(rows: Callable[[int], MatLike], shape: tuple[int, ...], pool: Executor) -> Plane:
    """An array of a shape, from strips of `ROWS` rows that may be longer and wider than what is left."""
    result = np.empty(shape, np.float32)

    def strip(part: slice) -> None:
        out = result[part]
        out[:] = rows(part.start)[: out.shape[0], : out.shape[1]]

    strips(strip, shape[0], ROWS, pool)
    return result
