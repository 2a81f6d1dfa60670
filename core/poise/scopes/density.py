"""Density: how strongly a place of a trace shows, by how much was counted there."""

from typing import Any

import numpy as np
import numpy.typing as npt


def density(counts: npt.NDArray[Any], steps: int) -> npt.NDArray[np.uint8]:
    """Counts as steps on a logarithmic scale, since a flat sky outnumbers a thin mast a thousandfold.

    Args:
        steps: the result is 0..steps - 1; nothing counted is 0 like little.

    Example:
        >>> density(np.array([0, 1, 10, 1000]), 4).tolist()
        [0, 0, 1, 3]
    """
    top = np.log1p(float(counts.max(initial=1)))
    scaled = np.log1p(counts.astype(np.float64)) / max(top, np.log(2.0))
    result: npt.NDArray[np.uint8] = np.clip(scaled * steps, 0, steps - 1).astype(np.uint8)
    return result
