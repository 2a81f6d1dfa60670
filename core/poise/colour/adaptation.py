"""The single 3x3 matrix of the light stage: exposure, warmth, magenta and primaries, in linear light."""

from functools import lru_cache
from typing import Any

import numpy as np
import numpy.typing as npt

from poise.colour.luma import weights
from poise.colour.observer import observer
from poise.errors import PoiseError

Matrix = npt.NDArray[np.float64]

BASE_KELVIN = 5500.0
D50, D65 = (0.34570, 0.35854), (0.3127, 0.3290)
"""Chromaticities of CIE illuminants D50 (CIE 15:2018) and D65, as ITU-R BT.709-6, item 1.3, rounds it."""
CAT16: Matrix = np.array(
    [[0.401288, 0.650173, -0.051461], [-0.250268, 1.204414, 0.045854], [-0.002079, 0.048952, 0.953127]]
)
"""From XYZ to the cone space of CAT16 (CIE 248:2022)."""
PRIMARIES = {"ITU-R BT.709": ((0.64, 0.33), (0.30, 0.60), (0.15, 0.06))}
"""Chromaticities of red, green and blue (ITU-R BT.709-6, item 1.4), so that these need no colour-science; white is D65.
They become a matrix by SMPTE RP 177-1993."""


@lru_cache(maxsize=512)
def planckian_white(kelvin: float) -> tuple[float, float, float]:
    """XYZ of a Planckian radiator with Y = 1 (Planck's law, CIE 1931 2 degree observer, 360 to 830 nm).

    Args:
        kelvin: temperature on the ITS-90 scale.

    Example:
        >>> x, y, z = planckian_white(2855.5)  # CIE 15: illuminant A is x 0.4476, y 0.4074
        >>> round(x / (x + y + z), 3), round(y / (x + y + z), 3)
        (0.448, 0.407)
    """
    wavelengths, functions = observer()
    # exp(c2 / (wavelength T)) with c2 of ITS-90; the first constant drops out when Y is made 1
    power = wavelengths**-5.0 / np.expm1(1.4388e-2 / (wavelengths * kelvin))
    x, y, z = power @ functions
    return float(x / y), 1.0, float(z / y)


def planckian_light(mired: float, primaries: str = "ITU-R BT.709") -> Matrix:
    """Linear RGB light of a Planckian radiator, (3,), scaled so that green is 1.

    Args:
        mired: 1e6 / kelvin.
        primaries: a name that colour-science registers.

    Raises:
        PoiseError: unknown primaries.

    Example:
        >>> planckian_light(1e6 / 2855.5).round(1).tolist()  # the temperature of illuminant A
        [2.2, 1.0, 0.3]
    """
    rgb = np.linalg.inv(_to_xyz(primaries)) @ np.array(planckian_white(1e6 / mired))
    return np.asarray(rgb / rgb[1])


def light_matrix(
    warmth: float = 0.0,
    magenta: float = 0.0,
    exposure: float = 0.0,
    primaries: str = "ITU-R BT.709",
    delivery_primaries: str | None = None,
) -> Matrix:
    """The 3x3 matrix from linear light in the source's primaries to linear light in the delivery's.

    Args:
        warmth: mired; adapts by CAT16 (CIE 248:2022) from 5500 K to a Planckian white this much further; + is warmer.
        magenta: CC units; multiplies green by 10^(-magenta/100), normalised so that a neutral keeps its luma.
        exposure: stops; multiplies all channels by 2^exposure.
        primaries: a name that colour-science registers.
        delivery_primaries: likewise; None for the same primaries. White is adapted by CAT16.

    Raises:
        PoiseError: unknown primaries.

    Example:
        >>> light_matrix(exposure=1).diagonal().tolist()
        [2.0, 2.0, 2.0]
    """
    matrix: Matrix = np.eye(3) * 2.0**exposure
    if magenta:
        by = weights(primaries)
        green = 10.0 ** (-magenta / 100)
        matrix = np.diag([1.0, green, 1.0]) / (1 + (green - 1) * (1 - by.red - by.blue)) @ matrix
    if warmth:
        to_xyz = _to_xyz(primaries)
        cold, warm = planckian_white(BASE_KELVIN), planckian_white(1e6 / (1e6 / BASE_KELVIN + warmth))
        matrix = np.linalg.inv(to_xyz) @ _adaptation(cold, warm) @ to_xyz @ matrix
    if delivery_primaries not in (None, primaries):
        assert delivery_primaries is not None
        white, target = _white(primaries), _white(delivery_primaries)
        matrix = np.linalg.inv(_to_xyz(delivery_primaries)) @ _adaptation(white, target) @ _to_xyz(primaries) @ matrix
    return matrix


def to_d50(primaries: str) -> Matrix:
    """The 3x3 matrix from linear light to XYZ under D50.

    White is adapted to D50 by the Bradford transform, as in ICC profiles (ICC.1:2010, annex E).

    Args:
        primaries: a name that colour-science registers.

    Raises:
        PoiseError: unknown primaries.

    Example:
        >>> (to_d50("ITU-R BT.709") @ [1, 1, 1]).round(3).tolist()  # D50: CIE 15:2018
        [0.964, 1.0, 0.825]
    """
    from poise.colour.science import colour

    x, y = D50
    target = np.array([x / y, 1.0, (1 - x - y) / y])
    method = colour.adaptation.matrix_chromatic_adaptation_VonKries
    adapted = method(np.array(_white(primaries)), target, transform="Bradford") @ _to_xyz(primaries)
    return np.asarray(adapted, np.float64)


def _adaptation(source: tuple[float, float, float], target: tuple[float, float, float]) -> Matrix:
    gains = (CAT16 @ np.array(target)) / (CAT16 @ np.array(source))
    adapted: Matrix = np.linalg.inv(CAT16) @ np.diag(gains) @ CAT16
    return adapted


@lru_cache(maxsize=64)
def _to_xyz(primaries: str) -> Matrix:
    if primaries in PRIMARIES:
        xy = np.array(PRIMARIES[primaries])
        columns = np.column_stack([xy, 1 - xy.sum(axis=1)]).T
        return np.asarray(columns * np.linalg.solve(columns, _white(primaries)))
    return np.asarray(_space(primaries).matrix_RGB_to_XYZ, np.float64)


def _white(primaries: str) -> tuple[float, float, float]:
    x, y = D65 if primaries in PRIMARIES else _space(primaries).whitepoint
    return float(x / y), 1.0, float((1 - x - y) / y)


def _space(primaries: str) -> Any:
    from poise.colour.science import colour

    if primaries not in colour.RGB_COLOURSPACES:
        raise PoiseError(f"no primaries {primaries!r}; use a name such as ITU-R BT.709, ITU-R BT.2020 or P3-D65")
    return colour.RGB_COLOURSPACES[primaries]
