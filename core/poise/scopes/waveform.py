"""The waveform: how often each level of luma occurs in each column of the picture."""

import numpy as np
import numpy.typing as npt

from poise.scopes.levels import WHOLE, Scale, rows_of
from poise.scopes.signal import Levels, Picture, Signal, split

Counts = npt.NDArray[np.int64]


def waveform(
    picture: Picture | Signal, columns: int, rows: int, maximum: int | None = None, primaries: str = "ITU-R BT.709"
) -> Counts:
    """Count luma levels against picture columns.

    Args:
        picture, maximum, primaries: as in `split`.
        columns: grid columns, which divide the picture's width evenly.
        rows: grid rows, from HIGH at the top to LOW (see `levels`).

    Returns:
        (rows, columns) pixel counts; their sum is the number of finite pixels.

    Example:
        >>> waveform(np.full((3, 2, 1), 0.5), 2, 11)[5].tolist()
        [3, 3]
    """
    signal = split(picture, maximum, primaries)
    counts: Counts = traces(signal, signal.levels[:1], columns, rows)[0]
    return counts


def traces(signal: Signal, levels: Levels, columns: int, rows: int, scale: Scale = WHOLE) -> Counts:
    """One waveform for each of the signal's planes in `levels`: (planes, pixels) to (planes, rows, columns).

    What lies beyond a part of the scale is not counted.
    """
    across = signal.columns(columns) + np.int32(columns)  # a row more above and below, for what lies beyond
    grids = np.empty((len(levels), rows, columns), np.int64)
    for grid, plane in zip(grids, levels, strict=True):
        cells = rows_of(plane, rows, scale)
        cells *= columns
        cells += across
        grid[...] = np.bincount(cells, minlength=(rows + 2) * columns).reshape(-1, columns)[1:-1]
    return grids
