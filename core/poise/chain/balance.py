"""Balance and levels: slope, offset, black and white point, contrast, all one affine step, then power."""

import numpy as np

from poise.chain.stage import Array, Clamp, PerChannel, Stage, diagonal
from poise.correction.model import Balance, Levels


def is_neutral(balance: Balance, levels: Levels) -> bool:
    slope, offset = affine(balance, levels)
    return bool(np.all(slope == 1) and np.all(offset == 0) and balance.power == (1, 1, 1))


def affine(balance: Balance, levels: Levels) -> tuple[Array, Array]:
    """The slope and offset, each (3,), that balance and levels fold into: the SOP of one ASC CDL.

    Example:
        >>> slope, offset = affine(Balance(), Levels(black=0.1, white=0.6))
        >>> slope.round(12).tolist(), offset.round(12).tolist()
        ([2.0, 2.0, 2.0], [-0.2, -0.2, -0.2])
    """
    gain = levels.contrast / (levels.white - levels.black)
    slope = np.array(balance.slope) * gain
    offset = (np.array(balance.offset) - levels.black) * gain + levels.pivot * (1 - levels.contrast)
    return slope, offset


def power(rgb: Array, exponents: tuple[float, float, float]) -> Array:
    """rgb ^ power per channel; a negative base skips power (ASC CDL v1.2, no-clamp style).

    Example:
        >>> power(np.array([0.25, -0.1, 1.0]), (0.5, 0.5, 0.5)).tolist()
        [0.5, -0.1, 1.0]
    """
    return np.where(rgb > 0, np.power(np.maximum(rgb, 0.0), np.array(exponents)), rgb)


def stages(balance: Balance, levels: Levels, clamp: bool) -> list[Stage]:
    """The operation's steps; the clamp stands even when the rest is neutral, so that what follows sees 0..1."""
    steps: list[Stage] = [Clamp()] if clamp else []
    if is_neutral(balance, levels):
        return steps
    steps.insert(0, diagonal(*affine(balance, levels)))
    if balance.power != (1, 1, 1):
        exponents = balance.power
        steps.append(PerChannel(lambda rgb: power(rgb, exponents)))
    return steps
