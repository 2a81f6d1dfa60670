"""Transfer functions by the names that colour-science registers: code value to linear light and back."""

from collections.abc import Callable
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from poise.errors import PoiseError

Array = npt.NDArray[np.float64]

UNFIT = ("ACESproxy", "DICOM GSDF")
"""Registered functions that don't come back from code to light to code."""

_HLG = ("ITU-R BT.2100 HLG", "ARIB STD-B67")
_PQ = ("ITU-R BT.2100 PQ", "ST 2084")
_PQ_PEAK = 10000.0
_FOOT = 1e-10
_WHITE = (0.5, 1.5)


@lru_cache(maxsize=1)
def names() -> tuple[str, ...]:
    """Every transfer function that poise takes, "linear" first.

    Example:
        >>> "ACEScct" in names()
        True
    """
    from poise.colour.science import colour

    both = set(colour.CCTF_DECODINGS) & set(colour.CCTF_ENCODINGS)
    return ("linear", *sorted(both - set(UNFIT)))


def decode(name: str, code: npt.ArrayLike) -> Array:
    """Linear light of code values.

    Args:
        name: one of `names()`.
        code: any shape, 1 is full scale.

    Returns:
        The same shape, float64. Scene light for HLG (ITU-R BT.2100-2, table 5); PQ (table 4) as a share of 10000
        cd/m2. Negative values go on by the function's own form, or mirrored where it has none.

    Raises:
        PoiseError: no such function.

    Example:
        >>> round(float(decode("sRGB", 0.5)), 9)
        0.21404114
    """
    return _finite(_functions(name)[0], np.asarray(code, np.float64))


def encode(name: str, light: npt.ArrayLike) -> Array:
    """Code values of linear light: the inverse of `decode`.

    Example:
        >>> round(float(encode("sRGB", 0.18)), 9)
        0.46135613
    """
    return _finite(_functions(name)[1], np.asarray(light, np.float64))


@lru_cache(maxsize=64)
def black_code(name: str) -> float:
    """The code value of black: that of no light, or 0 where a function has none for it, or one below 0.

    Example:
        >>> black_code("sRGB"), round(black_code("ACEScct"), 4), black_code("ACEScc")
        (0.0, 0.0729, 0.0)
    """
    return 0.0 if name == "linear" else max(float(encode(name, 0.0)), 0.0)


def high_range(name: str) -> bool:
    """Whether a function leaves room above white, as PQ and HLG (ITU-R BT.2100-2) do: light at 1 is the peak.

    Example:
        >>> high_range("ITU-R BT.2100 PQ"), high_range("sRGB")
        (True, False)
    """
    return name in _PQ or name in _HLG


def is_display(name: str) -> bool:
    """Whether code 1 is a display's white, near light 1, with no room above; log codes and linear light have some.

    Example:
        >>> is_display("sRGB"), is_display("ACEScct"), is_display("ITU-R BT.2100 PQ"), is_display("linear")
        (True, False, False, False)
    """
    low, high = _WHITE
    return name != "linear" and not high_range(name) and low <= float(decode(name, 1.0)) <= high


def _finite(function: Callable[[Array], Array], values: Array) -> Array:
    """The function's values, mirrored about its foot where it has no form of its own for them (a log of nothing)."""
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
    from poise.colour.science import colour

    if name in UNFIT or name not in colour.CCTF_DECODINGS or name not in colour.CCTF_ENCODINGS:
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
