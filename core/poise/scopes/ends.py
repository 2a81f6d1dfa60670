"""The ends: how much of each column of a picture lies at or beyond 100 % and 0 %."""

import numpy as np

from poise.scopes.signal import Levels, Signal
from poise.scopes.waveform import Counts

_ROUNDING = 1e-6
"""Of float32 luma, far below half a 16 bit code."""


def ends(signal: Signal, levels: Levels, columns: int) -> Counts:
    """Count the pixels at or above 100 % and at or below 0 % in each column.

    Args:
        levels: (planes, pixels) of the signal.
        columns: grid columns, as of `waveform`.

    Returns:
        (planes, 2, columns): at or above 100 % first.

    Example:
        >>> from poise.scopes.signal import split
        >>> signal = split(np.array([[[0.0], [0.5], [1.0], [1.2]]]))
        >>> ends(signal, signal.levels[:1], 2).tolist()
        [[[0, 2], [1, 0]]]
    """
    counts = np.zeros((len(levels), 2, columns), np.int64)
    across = None
    for count, plane in zip(counts, levels, strict=True):
        if not plane.size:
            continue
        for end, reached in enumerate((plane.max() >= 1 - _ROUNDING, plane.min() <= _ROUNDING)):
            if reached:
                across = signal.columns(columns) if across is None else across
                there = plane <= _ROUNDING if end else plane >= 1 - _ROUNDING
                count[end] = np.bincount(across[there], minlength=columns)
    return counts
