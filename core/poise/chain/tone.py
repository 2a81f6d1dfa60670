"""Tone: toe and shoulder bend the scale below and above the pivot; the ends and the pivot stay fixed."""

from functools import lru_cache

import numpy as np

from poise.chain.stage import Array, PerChannel, Stage
from poise.correction.model import Tone


def is_neutral(tone: Tone) -> bool:
    """Whether toe and shoulder change nothing."""
    return tone == Tone()


def bend(v: Array, tone: Tone, pivot: float) -> Array:
    """Apply toe and shoulder to code values.

    Below the pivot p: v + toe v (1 - v/p)^2. Above, with u = 1 - v and q = 1 - p: v + shoulder u (1 - u/q)^2. Smooth
    (C1) at the pivot, monotone for toe and shoulder in -1..1, fixed at 0 and 1, continued straight outside 0..1.

    Args:
        v: code values, any shape.
        pivot: between 0 and 1, exclusive.

    Example:
        >>> bend(np.array([0.0, 0.5, 1.0]), Tone(toe=1, shoulder=-1), 0.5).tolist()
        [0.0, 0.5, 1.0]
    """
    clipped = np.clip(v, 0, 1)  # squares of values far outside would overflow
    u, q = 1 - clipped, 1 - pivot
    low = clipped + tone.toe * clipped * (1 - clipped / pivot) ** 2
    high = clipped + tone.shoulder * u * (1 - u / q) ** 2
    inside = np.where(v < pivot, low, high)
    return np.where(v < 0, v * (1 + tone.toe), np.where(v > 1, 1 - (1 - v) * (1 - tone.shoulder), inside))


def stages(tone: Tone, pivot: float) -> list[Stage]:
    """The stages of toe and shoulder; none if neutral."""
    return [] if is_neutral(tone) else [_bent(tone, pivot)]


@lru_cache(maxsize=16)
def _bent(tone: Tone, pivot: float) -> Stage:
    """The stage of toe and shoulder: the same object each time, as the engine keeps tables by their stages."""
    return PerChannel(lambda rgb: bend(rgb, tone, pivot), alike=True)
