"""Saturation: scales each channel's distance from luma (ASC CDL v1.2)."""

import numpy as np

from poise.chain.stage import Linear, Stage

WEIGHTS = (0.2126, 0.7152, 0.0722)
"""ASC CDL v1.2 fixes these weights, whatever the primaries."""


def is_neutral(saturation: float) -> bool:
    """Whether a saturation changes nothing."""
    return saturation == 1


def stages(saturation: float) -> list[Stage]:
    """luma + s (v - luma) as one matrix; none if neutral.

    Example:
        >>> stages(0.0)[0](np.array([1.0, 0.0, 0.0])).round(4).tolist()
        [0.2126, 0.2126, 0.2126]
    """
    if is_neutral(saturation):
        return []
    matrix = saturation * np.eye(3) + (1 - saturation) * np.tile(np.array(WEIGHTS), (3, 1))
    return [Linear(matrix, np.zeros(3))]
