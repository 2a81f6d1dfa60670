"""A fault: one thing that a delivered file must not have, with its value, the limit, and the source of the limit."""

import math
from typing import Any

from msgspec import Struct


class Fault(Struct, frozen=True):
    """One fault of one file.

    Attributes:
        file: the path as given; of a sequence its pattern, or the one frame that has the fault.
        fault: a short, stable name: that of the limit, or of the problem if there is no limit.
        value, limit: a number in `unit`, a text, or None.
        unit: of both; empty if they have none.
        source: the source of the limit; empty if there is none.
        words: one sentence: what is wrong, and what to do.
        caution: a person should look at it, but it does not fail the check.

    Example:
        >>> Fault("quay_02.tif", "outside", 1.1, 1.0, "%", "EBU R 103", "lower the white point").to_json()["limit"]
        1.0
    """

    file: str
    fault: str
    value: float | str | None = None
    limit: float | str | None = None
    unit: str = ""
    source: str = ""
    words: str = ""
    caution: bool = False

    def to_json(self) -> dict[str, Any]:
        """The object of `check --json`: rounded to 4 decimals; null for NaN and infinity."""
        return {name: _plain(getattr(self, name)) for name in self.__struct_fields__}


def shown(value: float | str | None, unit: str = "") -> str:
    """A value or a limit as text.

    Example:
        >>> shown(1.1, "%"), shown("full"), shown(None), shown(0.04, "%")
        ('1.1 %', 'full', '-', '0.04 %')
        >>> shown(1.0, "frames")
        '1 frame'
    """
    if value is None:
        return "-"
    if isinstance(value, str):
        return value
    figure = f"{value:.1f}" if abs(value) >= 0.1 else f"{value:.2g}"
    figure = figure.removesuffix(".0")
    unit = unit.removesuffix("s") if figure == "1" else unit
    return f"{figure} {unit}".rstrip()


def describe(fault: Fault) -> str:
    """A fault as text, with value, limit and source.

    Example:
        >>> describe(Fault("quay_02.tif", "outside", 1.1, 1.0, "%", "EBU R 103"))
        'outside 1.1 %, limit 1 % (EBU R 103)'
        >>> describe(Fault("quay_02.tif", "depth", "8 bit", "16 bit", source="one reel, one depth"))
        'depth 8 bit, expected 16 bit (one reel, one depth)'
    """
    value = "" if fault.value is None else f" {shown(fault.value, fault.unit)}"
    return fault.fault + value + limit_text(fault)


def limit_text(fault: Fault) -> str:
    """The text after a value: the limit or the expected text, and its source.

    Example:
        >>> limit_text(Fault("quay_02.tif", "size", "50 x 20", "100 x 40"))
        ', expected 100 x 40'
    """
    how = "expected" if isinstance(fault.limit, str) else "limit"
    limit = "" if fault.limit is None else f", {how} {shown(fault.limit, fault.unit)}"
    return limit + (f" ({fault.source})" if fault.source else "")


NAMES = {
    "outside": "out of range",
    "black-under": "black",
    "black-over": "black",
    "white-under": "white",
    "white-over": "white",
    "spread-bottom": "black spread",
    "spread-middle": "mid spread",
    "spread-top": "white spread",
}


def brief(fault: Fault) -> str:
    """A fault in a few cells of the terminal.

    Example:
        >>> brief(Fault("quay_02.tif", "white-under", 81.3, 90.0, "%")), brief(Fault("quay_02.tif", "apart", 4.2, 3.5))
        ('white 81.3 < 90', 'outlier')
    """
    name = NAMES.get(fault.fault, fault.fault)
    if fault.fault == "apart":
        return "outlier"
    if isinstance(fault.value, float) and isinstance(fault.limit, float):
        return f"{name} {shown(fault.value)} {'<' if fault.value < fault.limit else '>'} {shown(fault.limit)}"
    return f"{name} {shown(fault.value)}"


def _plain(value: Any) -> Any:
    if isinstance(value, float):
        return round(value, 4) if math.isfinite(value) else None
    return value
