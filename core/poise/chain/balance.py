"""Balance and levels: slope, offset, black and white point and contrast as one affine step, followed by power."""

from functools import lru_cache

import numpy as np

from poise.chain.stage import Array, Clamp, PerChannel, Stage, diagonal
from poise.correction.model import Balance, Levels


def is_neutral(balance: Balance, levels: Levels) -> bool:
    """Whether balance and levels change nothing."""
    slope, offset = affine(balance, levels)
    return bool(np.all(slope == 1) and np.all(offset == 0) and balance.power == (1, 1, 1))


def affine(balance: Balance, levels: Levels) -> tuple[Array, Array]:
    """Balance and levels folded into one slope and one offset, each (3,), as in the SOP node of an ASC CDL.

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
    """rgb ^ power per channel, (..., 3); negative values stay as they are (ASC CDL v1.2, no-clamp style).

    Example:
        >>> power(np.array([0.25, -0.1, 1.0]), (0.5, 0.5, 0.5)).tolist()
        [0.5, -0.1, 1.0]
    """
    return np.where(rgb > 0, np.power(np.maximum(rgb, 0.0), np.array(exponents)), rgb)


def stages(balance: Balance, levels: Levels, clamp: bool) -> list[Stage]:
    """The stages of balance and levels on (..., 3) work code.

    Args:
        clamp: clamp to 0..1 before power, as ASC CDL v1.2 does; also if neutral, so that later stages get 0..1.

    Example:
        >>> [stage(np.array([0.25, 0.5, 1.0])).tolist() for stage in stages(Balance(slope=(2, 1, 1)), Levels(), False)]
        [[0.5, 0.5, 1.0]]
    """
    return list(_stages(balance, levels, clamp))


@lru_cache(maxsize=16)
def _stages(balance: Balance, levels: Levels, clamp: bool) -> tuple[Stage, ...]:
    """The same objects each time, as the engine keeps tables by their stages."""
    steps: list[Stage] = [Clamp()] if clamp else []
    if not is_neutral(balance, levels):
        steps.insert(0, diagonal(*affine(balance, levels)))
        if balance.power != (1, 1, 1):
            steps.append(PerChannel(lambda rgb: power(rgb, balance.power)))
    return tuple(steps)
