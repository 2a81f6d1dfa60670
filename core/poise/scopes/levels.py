"""The level scale of the scopes: from -5 % to 105 % of full signal, or a part of it, top row first."""

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

LOW = -0.05
HIGH = 1.05
"""The ends of the scale in code value, as in EBU R 103; levels outside are counted in the edge rows."""

_NUDGE = 1e-6
"""Added so that a level on the border of two rows is in the upper one despite float32 noise."""


@dataclass(frozen=True)
class Scale:
    """A part of the level scale, in code value."""

    low: float = LOW
    high: float = HIGH

    @property
    def whole(self) -> bool:
        return self == WHOLE


WHOLE = Scale()


def rows_of(levels: npt.NDArray[np.floating[Any]], rows: int, scale: Scale = WHOLE) -> npt.NDArray[np.int32]:
    """The row of every level: 0 for HIGH and above, rows - 1 for LOW and below.

    On a part of the scale, a level above it is in row -1 and a level below it in row `rows`; no scope shows these.

    Args:
        levels: finite code values of any shape. A level on the border of two rows is in the upper one.
        rows: the number of rows.
        scale: the part of the scale that the rows show.

    Example:
        >>> rows_of(np.array([1.2, 0.5, -0.2]), 11).tolist()
        [0, 5, 10]
        >>> rows_of(np.array([1.2, 0.1, -0.2]), 22, Scale(-0.02, 0.2)).tolist()
        [-1, 9, 22]
    """
    per_row = rows / (scale.high - scale.low)
    place = levels * -per_row
    place += (scale.high - _NUDGE) * per_row
    if scale.whole:
        np.clip(place, 0, rows - 1, out=place)
    else:
        np.floor(np.clip(place, -1, rows, out=place), out=place)
    return place.astype(np.int32)


def row_of(level: float, rows: int, scale: Scale = WHOLE) -> int:
    """The row of one level, as in `rows_of`.

    Example:
        >>> row_of(1.0, 22)
        0
    """
    return int(rows_of(np.array([level]), rows, scale)[0])


def level_of(row: int, rows: int, scale: Scale = WHOLE) -> float:
    """The level in the middle of a row.

    Example:
        >>> round(level_of(5, 11), 6)
        0.5
    """
    return scale.high - (row + 0.5) * (scale.high - scale.low) / rows
