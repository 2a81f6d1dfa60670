"""Density: how strongly a place of a trace shows, by how much was counted there."""

from typing import Any

import numpy as np
import numpy.typing as npt

OCTAVES = 3.0
"""How many times the count doubles from an even spread to the densest step, and halves to the faintest one."""


def density(counts: npt.NDArray[Any], steps: int) -> npt.NDArray[np.uint8]:
    """Counts as steps on a logarithmic scale, since a flat sky outnumbers a thin mast a thousandfold.

    The scale is centred on the count that every place of the grid would have if all were spread evenly, so a sample of
    a picture has the same steps as the whole picture.

    Args:
        steps: the result is 0..steps - 1; 0 where little or nothing was counted.

    Example:
        >>> density(np.array([0, 1, 6, 50]), 4).tolist()
        [0, 0, 1, 3]
    """
    return np.searchsorted(from_even(steps) * counts.mean(), counts, side="right").astype(np.uint8) * (counts > 0)


def from_even(steps: int) -> npt.NDArray[np.float64]:
    """The counts at which steps 1 and up begin, (steps - 1,), as multiples of the count of an even spread.

    Example:
        >>> from_even(4).round(3).tolist()
        [0.354, 1.0, 2.828]
    """
    return np.asarray(2.0 ** (OCTAVES * (2 * np.arange(1, steps) / steps - 1)))
