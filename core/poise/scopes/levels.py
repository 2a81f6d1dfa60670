"""The level scale of the scopes: from -5 % to 105 % of full signal, top row first."""

from typing import Any

import numpy as np
import numpy.typing as npt

LOW = -0.05
HIGH = 1.05
"""The ends of the scale in code value, as in EBU R 103; levels outside are counted in the edge rows."""

_NUDGE = 1e-6
"""Added so that a level on the border of two rows is in the upper one despite float32 noise."""


def rows_of(levels: npt.NDArray[np.floating[Any]], rows: int) -> npt.NDArray[np.int32]:
    """The row of every level: 0 for HIGH and above, rows - 1 for LOW and below.

    Args:
        levels: finite code values of any shape. A level on the border of two rows is in the upper one.
        rows: the number of rows.

    Example:
        >>> rows_of(np.array([1.2, 0.5, -0.2]), 11).tolist()
        [0, 5, 10]
    """
    scale = rows / (HIGH - LOW)
    place = levels * -scale
    place += (HIGH - _NUDGE) * scale
    np.clip(place, 0, rows - 1, out=place)
    return place.astype(np.int32)


def row_of(level: float, rows: int) -> int:
    """The row of one level, as in `rows_of`.

    Example:
        >>> row_of(1.0, 22)
        0
    """
    return int(rows_of(np.array([level]), rows)[0])


def level_of(row: int, rows: int) -> float:
    """The level in the middle of a row.

    Example:
        >>> round(level_of(5, 11), 6)
        0.5
    """
    return HIGH - (row + 0.5) * (HIGH - LOW) / rows
