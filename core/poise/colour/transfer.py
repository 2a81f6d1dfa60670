"""Transfer functions, code value to linear light and back, by the names that colour-science registers."""

from collections.abc import Callable
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from poise.colour.common_transfer import COMMON
from poise.errors import PoiseError

Array = npt.NDArray[np.float64]

NOT_INVERTIBLE = ("ACESproxy", "DICOM GSDF")
"""Registered functions whose decoding and encoding are not inverses of each other."""

_HLG = ("ITU-R BT.2100 HLG", "ARIB STD-B67")
_PQ = ("ITU-R BT.2100 PQ", "ST 2084")
_PQ_PEAK = 10000.0
_FOOT = 1e-10
_WHITE = (0.5, 1.5)


@lru_cache(maxsize=1)
def names() -> tuple[str, ...]:
    """Every transfer function that poise accepts, "linear" first.

    Example:
        >>> "ACEScct" in names()
        True
    """
    from poise.colour.science import colour

    both = set(colour.CCTF_DECODINGS) & set(colour.CCTF_ENCODINGS)
    return ("linear", *sorted(both - set(NOT_INVERTIBLE)))


def decode(name: str, code: npt.ArrayLike) -> Array:
    """Linear light of code values: the same shape, float64.

    HLG (ITU-R BT.2100-2, table 5) decodes to scene light, PQ (table 4) to a share of 10000 cd/m2. Where a function is
    not defined below black, it is continued by its mirror image.

    Args:
        name: one of `names()`.
        code: any shape, full scale is 1.

    Raises:
        PoiseError: there is no such function.

    Example:
        >>> round(float(decode("sRGB", 0.5)), 9)
        0.21404114
    """
    return _finite(_functions(name)[0], np.asarray(code, np.float64))


def encode(name: str, light: npt.ArrayLike) -> Array:
    """Code values of linear light: the inverse of `decode`, with the same arguments and errors.

    Example:
        >>> round(float(encode("sRGB", 0.18)), 9)
        0.46135613
    """
    return _finite(_functions(name)[1], np.asarray(light, np.float64))


@lru_cache(maxsize=64)
def black_code(name: str) -> float:
    """The code value of no light; 0 if the function has none, or one below 0.

    Example:
        >>> black_code("sRGB"), round(black_code("ACEScct"), 4), black_code("ACEScc")
        (0.0, 0.0729, 0.0)
    """
    return 0.0 if name == "linear" else max(float(encode(name, 0.0)), 0.0)


def high_range(name: str) -> bool:
    """Whether a function is PQ or HLG (ITU-R BT.2100-2), where light 1 is the peak and not diffuse white.

    Example:
        >>> high_range("ITU-R BT.2100 PQ"), high_range("sRGB")
        (True, False)
    """
    return name in _PQ or name in _HLG


def is_display(name: str) -> bool:
    """Whether code 1 is the white of a display, near light 1, with no headroom, unlike log codes and linear light.

    Example:
        >>> is_display("sRGB"), is_display("ACEScct"), is_display("ITU-R BT.2100 PQ"), is_display("linear")
        (True, False, False, False)
    """
    low, high = _WHITE
    return name != "linear" and not high_range(name) and low <= float(decode(name, 1.0)) <= high


def _finite(function: Callable[[Array], Array], values: Array) -> Array:
    """The function's values, mirrored about its foot where it is undefined (the logarithm of 0 or less)."""
    with np.errstate(all="ignore"):
        result = np.asarray(function(values), np.float64)
        holes = ~np.isfinite(result) & np.isfinite(values)
        if holes.any():
            foot = float(function(np.array([_FOOT]))[0])
            mirrored = 2 * foot - np.asarray(function(np.abs(values) + _FOOT), np.float64)
            result = np.where(holes & (values <= 0), mirrored, result)
            result = np.nan_to_num(result, nan=foot)
        return np.where(np.isfinite(values), result, values)


@lru_cache(maxsize=64)
def _functions(name: str) -> tuple[Callable[[Array], Array], Callable[[Array], Array]]:
    if name == "linear":
        return (lambda v: v), (lambda v: v)
    if name in COMMON:
        return COMMON[name]
    from poise.colour.science import colour

    if name in NOT_INVERTIBLE or name not in colour.CCTF_DECODINGS or name not in colour.CCTF_ENCODINGS:
        raise PoiseError(f"no transfer function {name!r}; use linear, or a name such as {_near(name)}")
    if name in _HLG:
        return (
            lambda v: colour.models.oetf_inverse_BT2100_HLG(v),
            lambda v: colour.models.oetf_BT2100_HLG(v),
        )
    into, out = colour.CCTF_DECODINGS[name], colour.CCTF_ENCODINGS[name]
    if name in _PQ:
        return (lambda v: into(v) / _PQ_PEAK), (lambda v: out(v * _PQ_PEAK))
    return into, out


def _near(name: str) -> str:
    import difflib

    return ", ".join(difflib.get_close_matches(name, names(), 3, 0.3) or ["sRGB", "ITU-R BT.709"])
