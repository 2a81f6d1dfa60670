"""Converts values from one depth to another exactly, which scaling in float32 would not."""

from functools import lru_cache

import numpy as np

from poise.engine.reference import rounded
from poise.engine.strips import pool_of, strips
from poise.frames.frame import Depth, Pixels

_ROWS = 64


def rescaled(values: Pixels, depth: Depth, out_depth: Depth, threads: int = 1) -> Pixels:
    """The same shares of full scale at another depth; NaN becomes 0 in integers.

    Args:
        values: (height, width, channels), `depth.dtype`.
        threads: the number of threads that share the rows.

    Returns:
        A new array of the same shape, `out_depth.dtype`.

    Example:
        >>> rescaled(np.array([[[0, 128, 255]]], np.uint8), Depth.U8, Depth.U16).tolist()
        [[[0, 32896, 65535]]]
    """
    if depth is out_depth:
        return values.copy()
    made = np.empty(values.shape, out_depth.dtype)
    table = None if depth is Depth.FLOAT else _table(depth, out_depth)

    def part(rows: slice) -> None:
        if table is None:
            made[rows] = _plain(values[rows], depth, out_depth)
        else:
            np.take(table, values[rows].view(np.uint16) if depth is Depth.HALF else values[rows], out=made[rows])

    with pool_of(threads) as pool:
        strips(part, len(values), _ROWS, pool)
    return made


@lru_cache(maxsize=8)
def _table(depth: Depth, out_depth: Depth) -> Pixels:
    """An entry for each code, or for each bit pattern of a half."""
    codes = np.arange(65536 if depth is Depth.HALF else depth.maximum + 1).astype(f"u{depth.dtype.itemsize}")
    return _plain(codes.view(depth.dtype), depth, out_depth)


def _plain(values: Pixels, depth: Depth, out_depth: Depth) -> Pixels:
    with np.errstate(over="ignore", invalid="ignore"):
        share = values.astype(np.float64) / depth.maximum
        return rounded(share if out_depth.is_float else np.nan_to_num(share), out_depth)
