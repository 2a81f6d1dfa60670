"""Colour difference: CIE L*a*b* under D50, and CIEDE2000."""

import numpy as np
import numpy.typing as npt

from poise.colour.adaptation import D50, to_d50

Array = npt.NDArray[np.float64]


def lab(light: Array, primaries: str = "ITU-R BT.709") -> Array:
    """CIE L*a*b* (ISO/CIE 11664-4) under D50 of linear light; white is adapted by Bradford, as in `to_d50`.

    Args:
        light: (..., 3), white is 1.
        primaries: a name that colour-science registers.

    Raises:
        PoiseError: unknown primaries.

    Example:
        >>> lab(np.array([1.0, 1.0, 1.0])).round(2).tolist()
        [100.0, 0.0, 0.0]
    """
    from poise.colour.science import colour

    return np.asarray(colour.XYZ_to_Lab(light @ to_d50(primaries).T, np.array(D50)), np.float64)


def ciede2000(first: Array, second: Array) -> Array:
    """The CIEDE2000 colour difference (CIE 142-2001; ISO/CIE 11664-6), (...).

    Args:
        first, second: L*a*b*, (..., 3) each.

    Example:
        >>> round(float(ciede2000(np.array([50, 2.6772, -79.7751]), np.array([50, 0, -82.7485]))), 4)  # Sharma 2005
        2.0425
    """
    from poise.colour.science import colour

    return np.asarray(colour.delta_E(first, second, method="CIE 2000"), np.float64)
