"""The parade: the waveforms of red, green and blue."""

from poise.scopes.signal import Picture, Signal, split
from poise.scopes.waveform import Counts, traces


def parade(
    picture: Picture | Signal, columns: int, rows: int, maximum: int | None = None, primaries: str = "ITU-R BT.709"
) -> Counts:
    """Count the levels of red, green and blue against picture columns.

    Args:
        picture, maximum, primaries: as in `split`.
        columns: grid columns of each of the three.
        rows: grid rows, from HIGH at the top to LOW (see `levels`).

    Returns:
        (3, rows, columns) pixel counts.

    Example:
        >>> import numpy as np
        >>> parade(np.full((3, 2, 1), 0.5), 2, 11)[:, 5].tolist()
        [[3, 3], [3, 3], [3, 3]]
    """
    signal = split(picture, maximum, primaries)
    return traces(signal, signal.levels[1:], columns, rows)
