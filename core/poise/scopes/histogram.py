"""The histogram: how often each level of luma, red, green and blue occurs in the whole picture."""

import numpy as np

from poise.scopes.levels import rows_of
from poise.scopes.signal import Picture, Signal, split
from poise.scopes.waveform import Counts


def histogram(
    picture: Picture | Signal, bins: int, maximum: int | None = None, primaries: str = "ITU-R BT.709"
) -> Counts:
    """Count the levels of luma, red, green and blue.

    Args:
        picture, maximum, primaries: as in `split`.
        bins: the number of equal bins from LOW to HIGH, lowest first; levels outside are counted in the end bins.

    Returns:
        (4, bins) pixel counts.

    Example:
        >>> histogram(np.full((3, 2, 1), 0.5), 3).tolist()
        [[0, 6, 0], [0, 6, 0], [0, 6, 0], [0, 6, 0]]
    """
    levels = split(picture, maximum, primaries).levels
    rows = np.stack([np.bincount(rows_of(plane, bins), minlength=bins) for plane in levels])
    return rows[:, ::-1]
