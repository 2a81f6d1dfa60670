"""Tone: toe and shoulder bend the scale below and above the pivot, ends and pivot held."""

import numpy as np

from poise.chain.stage import Array, PerChannel, Stage
from poise.correction.model import Tone


def is_neutral(tone: Tone) -> bool:
    return tone == Tone()


def bend(v: Array, tone: Tone, pivot: float) -> Array:
    """Below pivot p: v + toe v (1 - v/p)^2; above, with u = 1 - v and q = 1 - p: v + shoulder u (1 - u/q)^2.

    C1 at the pivot, monotone for -1..1, 0 and 1 fixed; outside 0..1 it goes straight on with the slope of the end.

    Example:
        >>> bend(np.array([0.0, 0.5, 1.0]), Tone(toe=1, shoulder=-1), 0.5).tolist()
        [0.0, 0.5, 1.0]
    """
    held = np.clip(v, 0, 1)  # squares of what lies far outside would overflow
    u, q = 1 - held, 1 - pivot
    low = held + tone.toe * held * (1 - held / pivot) ** 2
    high = held + tone.shoulder * u * (1 - u / q) ** 2
    inside = np.where(v < pivot, low, high)
    return np.where(v < 0, v * (1 + tone.toe), np.where(v > 1, 1 - (1 - v) * (1 - tone.shoulder), inside))


def stages(tone: Tone, pivot: float) -> list[Stage]:
    """The operation's steps, nothing when neutral."""
    return [] if is_neutral(tone) else [PerChannel(lambda rgb: bend(rgb, tone, pivot), alike=True)]
