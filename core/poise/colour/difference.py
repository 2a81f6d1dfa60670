"""Colour difference: linear light as CIE L*a*b* under D50, and CIEDE2000 between two such colours."""

import numpy as np
import numpy.typing as npt

from poise.colour.adaptation import D50, to_d50

Array = npt.NDArray[np.float64]


def lab(light: Array, primaries: str = "ITU-R BT.709") -> Array:
    """CIE L*a*b* under D50, (..., 3), of linear light, (..., 3), white at 1; their white becomes D50 by Bradford.

    Raises:
        PoiseError: unknown primaries.

    Example:
        >>> lab(np.array([1.0, 1.0, 1.0])).round(2).tolist()
        [100.0, 0.0, 0.0]
    """
    from poise.colour.science import colour

    return np.asarray(colour.XYZ_to_Lab(light @ to_d50(primaries).T, np.array(D50)), np.float64)


def ciede2000(first: Array, second: Array) -> Array:
    """CIEDE2000 (CIE 142-2001; ISO/CIE 11664-6) between colours in L*a*b*, (..., 3) each; returns (...).

    Example:
        >>> round(float(ciede2000(np.array([50, 2.6772, -79.7751]), np.array([50, 0, -82.7485]))), 4)  # Sharma 2005
        2.0425
    """
    from poise.colour.science import colour

    return np.asarray(colour.delta_E(first, second, method="CIE 2000"), np.float64)
