"""The published values of the 24-patch chart: four rows of six patches, the last row neutral from white to black."""

from functools import lru_cache
from typing import Any

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

ROWS, COLUMNS = 4, 6
NEUTRALS = slice(18, 24)
SET = "ColorChecker 2005"
"""The name of the set in colour-science's `CCS_COLOURCHECKERS`: xyY under D50, CIE 1931 2 degree."""


@lru_cache(maxsize=1)
def names() -> tuple[str, ...]:
    """The names of the 24 patches, row by row.

    Example:
        >>> names()[0], len(names())
        ('dark skin', 24)
    """
    return tuple(name.split(" (")[0] for name in _chart().data)


@lru_cache(maxsize=1)
def published_lab() -> Array:
    """CIE L*a*b* of the patches under D50, (24, 3).

    Example:
        >>> published_lab()[18].round(1).tolist()  # white
        [96.5, -0.5, 1.2]
    """
    from poise.colour.adaptation import D50
    from poise.colour.science import colour

    return np.asarray(colour.XYZ_to_Lab(_xyz(), np.array(D50)), np.float64)


@lru_cache(maxsize=8)
def published_light(primaries: str) -> Array:
    """Linear light of the patches, (24, 3), adapted to the white of the primaries; negative outside their gamut.

    Args:
        primaries: a name that colour-science registers.

    Raises:
        PoiseError: unknown primaries.

    Example:
        >>> published_light("ITU-R BT.709")[18].round(2).tolist()  # white
        [0.91, 0.92, 0.89]
    """
    from poise.colour.adaptation import to_d50

    return np.asarray(_xyz() @ np.linalg.inv(to_d50(primaries)).T)


def _xyz() -> Array:
    from poise.colour.science import colour

    return np.asarray(colour.xyY_to_XYZ(np.array(list(_chart().data.values()))), np.float64)


def _chart() -> Any:
    from poise.colour.science import colour

    return colour.CCS_COLOURCHECKERS[SET]
