"""The Gaussian blur of a matte in float32, by small matrix products, at a cost that hardly grows with sigma.

Along an axis, a blur is a band of a matrix, and a block of rows is that band times the rows it sees. A wide blur goes
over a coarse grid: a narrow Gaussian is sampled there, the rest of the blur runs on the grid (Gaussians add by their
squares), and another narrow Gaussian brings it back. Both are wide enough, against the grid, that what aliases is
below 1e-5. Where a block sees only 0, it is exactly 0.
"""

import math
from concurrent.futures import Executor

import numpy as np
import numpy.typing as npt

from poise.chain.matte import reach

Plane = npt.NDArray[np.float32]
Weights = npt.NDArray[np.float32]

GRID = 4
"""Pixels from node to node of the coarse grid."""
NARROW = 0.8 * GRID
"""The sigma of the Gaussian onto the grid, and of the one back; exp(-2 pi^2 0.8^2) is 3e-6."""
WIDE = 6.0
"""From this sigma on the grid is used; what is left for it is then more than a node."""
CUT = 4.5
"""The narrow Gaussians end so many sigmas from their middles."""

ROWS = 64
"""Of the finer of the two sides that one matrix product reads and writes."""
SMALL = 1 << 18
"""Products of one matrix product: OpenBLAS gives more to threads of its own, which wait for each other."""


def blur(values: Plane, sigma: float, pool: Executor) -> Plane:
    """The blurred matte, within 1e-4 of `poise.chain.matte.blur`; the same whatever the pool.

    Args:
        values: (height, width), finite.
        sigma: in pixels.

    Example:
        with ThreadPoolExecutor(2) as pool: blur(values, 8.6, pool)
    """
    if reach(sigma) < 1:
        return values
    height, width = values.shape
    if sigma < WIDE:
        rows = [(np.arange(size, dtype=np.float64), sigma, float(reach(sigma))) for size in (height, width)]
        result = _along(_along(values, *rows[0], pool).T, *rows[1], pool).T
    else:
        onto = [_nodes(size) for size in (height, width)]
        back = [(np.arange(size) - nodes[0]) / GRID for size, nodes in zip((height, width), onto, strict=True)]
        narrow = NARROW / GRID
        coarse = _along(values, onto[0], NARROW, CUT * NARROW, pool)
        coarse = _along(coarse.T, onto[1], NARROW, CUT * NARROW, pool).T
        coarse = blur(coarse, math.sqrt(sigma**2 - 2 * NARROW**2) / GRID, pool)
        wide = _along(coarse.T, back[1], narrow, CUT * narrow, pool).T
        result = _along(wide, back[0], narrow, CUT * narrow, pool)
    return np.clip(result, 0, 1, out=result)


def _nodes(size: int) -> npt.NDArray[np.float64]:
    """Where the grid's nodes lie, so far beyond either end that the outermost see nothing but the picture's edge."""
    beyond = 2 * math.ceil(CUT * NARROW / GRID)
    count = -(-(size - 1) // GRID) + 1
    return GRID * np.arange(-beyond, count + beyond, dtype=np.float64)


def _along(values: Plane, at: npt.NDArray[np.float64], sigma: float, radius: float, pool: Executor) -> Plane:
    """The Gaussian of the columns, taken at some places: (rows, columns) to (places, columns)."""
    standing = values.flags.c_contiguous
    result = np.empty((len(at), values.shape[1]), np.float32, order="C" if standing else "F")
    places = max(1, min(ROWS, ROWS * len(at) // values.shape[0]))

    def block(start: int) -> None:
        first, band = _band(at[start : start + places], values.shape[0], sigma, radius)
        seen, out = values[first : first + band.shape[1]], result[start : start + places]
        step = max(SMALL // band.size, 16)
        for left in range(0, values.shape[1], step):
            part = seen[:, left : left + step]
            if not part.any():
                out[:, left : left + step] = 0
            elif standing:
                np.matmul(band, part, out=out[:, left : left + step])
            else:
                np.matmul(part.T, band.T, out=out[:, left : left + step].T)

    for _ in pool.map(block, range(0, len(at), places)):
        pass
    return result


def _band(at: npt.NDArray[np.float64], size: int, sigma: float, radius: float) -> tuple[int, Weights]:
    """The first row seen from places that lie in order, and the weights (places, rows) of it and those after it.

    Rows beyond the picture are its nearest row.
    """
    first, last = math.ceil(at[0] - radius), math.floor(at[-1] + radius)
    distance = np.arange(first, last + 1) - at[:, None]
    weights = np.exp(-0.5 * (distance / sigma) ** 2) * (np.abs(distance) <= radius)
    weights /= weights.sum(axis=1, keepdims=True)
    held = np.clip(np.arange(first, last + 1), 0, size - 1)
    starts = np.flatnonzero(np.diff(held, prepend=-1))
    return int(held[0]), np.add.reduceat(weights, starts, axis=1).astype(np.float32)
