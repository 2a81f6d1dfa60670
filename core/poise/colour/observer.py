"""The CIE 1931 standard colorimetric observer (2 degrees), at every nanometre from 360 to 830."""

from functools import lru_cache
from importlib.resources import files

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

SHORTEST = 360
"""Nanometres of the first row."""


@lru_cache(maxsize=1)
def observer() -> tuple[Array, Array]:
    """Wavelengths in metres, (471,), and the colour-matching functions, (471, 3).

    Source: CIE 018:2019, table 6, as colour-science carries it; a table here saves importing that, a second each time.

    Example:
        >>> wavelengths, values = observer()
        >>> int(wavelengths[values[:, 1].argmax()] * 1e9)
        555
    """
    with (files(__package__) / "cie_1931.csv").open(encoding="ascii") as table:
        values = np.loadtxt(table, delimiter=",")
    return (SHORTEST + np.arange(len(values), dtype=np.float64)) * 1e-9, values
