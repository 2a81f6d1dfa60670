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
    even = float(counts.mean()) if counts.size else 0.0
    if not even:
        return np.zeros(counts.shape, np.uint8)
    octaves = np.log2(np.maximum(counts / even, 0.5**OCTAVES))
    result: npt.NDArray[np.uint8] = np.clip((octaves / OCTAVES + 1) / 2 * steps, 0, steps - 1).astype(np.uint8)
    return result
