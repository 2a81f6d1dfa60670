"""Counts the pixels that a correction brought to an end of the scale."""

from typing import Any

import numpy as np
import numpy.typing as npt


def count_clipped(
    source: npt.NDArray[Any], delivered: npt.NDArray[Any], was: tuple[int, int], now: tuple[int, int]
) -> tuple[int, int]:
    """The numbers of pixels that a correction crushed to black and clipped to white, in any channel.

    A value from beyond an end that now is at the end counts as well: detail above white that became white.

    Args:
        source, delivered: (height, width, 1 or 3), the same pixels before and after.
        was, now: black and white of `source` and of `delivered`, in their own values.

    Example:
        >>> count_clipped(np.array([[[0, 3, 9]]]), np.array([[[0, 0, 15]]]), (0, 15), (0, 15))
        (1, 1)
    """
    crushed, clipped = (delivered <= now[0]) & (source > was[0]), (delivered >= now[1]) & (source < was[1])
    if was[0] > 0:  # else integers have no values beyond the ends, and floats are never clamped to them
        crushed |= (delivered == now[0]) & (source < was[0])
        clipped |= (delivered == now[1]) & (source > was[1])
    return _pixels(crushed), _pixels(clipped)


def _pixels(marks: npt.NDArray[np.bool_]) -> int:
    """The number of pixels that are marked in any channel."""
    if not marks.any():
        return 0
    # channel by channel, which is several times as fast as along the last axis
    return int(np.count_nonzero(np.bitwise_or.reduce(list(np.moveaxis(marks, 2, 0)))))
