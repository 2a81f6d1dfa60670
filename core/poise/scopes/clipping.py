"""Pixels that reached an end of the scale by a correction, and had not reached it before."""

from typing import Any

import numpy as np
import numpy.typing as npt


def count_clipped(
    source: npt.NDArray[Any], delivered: npt.NDArray[Any], was: tuple[int, int], now: tuple[int, int]
) -> tuple[int, int]:
    """How many pixels were crushed and how many clipped.

    What lay beyond an end and was drawn onto it is lost as well: detail over white that became white.

    Args:
        source, delivered: (height, width, 1 or 3) the same pixels before and after.
        was, now: the black and white of each, in its own values.

    Example:
        >>> count_clipped(np.array([[[0, 3, 9]]]), np.array([[[0, 0, 15]]]), (0, 15), (0, 15))
        (1, 1)
    """
    crushed, clipped = np.zeros((2, *source.shape[:2]), bool)
    # channel by channel, which is several times as quick
    for before, after in zip(np.moveaxis(source, 2, 0), np.moveaxis(delivered, 2, 0), strict=True):
        crushed |= (after <= now[0]) & (before > was[0])
        clipped |= (after >= now[1]) & (before < was[1])
        if was[0] > 0:  # elsewhere integers have nothing beyond the ends, and floats are never held to them
            crushed |= (after == now[0]) & (before < was[0])
            clipped |= (after == now[1]) & (before > was[1])
    return int(np.count_nonzero(crushed)), int(np.count_nonzero(clipped))
