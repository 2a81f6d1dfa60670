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

    @property
    def of_format(self) -> bool:
        """Whether it is a fault of the format, which no change of a correction mends."""
        return self.fault in FORMAT

    @property
    def beyond(self) -> float:
        """How far the value is beyond the limit, in their unit; 0 where they are no numbers."""
        if isinstance(self.value, float) and isinstance(self.limit, float):
            return abs(self.value - self.limit)
        return 0.0

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


NAMES = {
    "outside": "out of range",
    "black-under": "black",
    "black-over": "black",
    "white-under": "white",
    "white-over": "white",
    "spread-bottom": "black spread",
    "spread-middle": "mid spread",
    "spread-top": "white spread",
    "apart": "outlier",
}
"""What faults are called in text, where that differs from their stable names."""
SHORT = {"black spread": "blk spread", "white spread": "wht spread", "out of range": "range"}
COUNTED = ("frames", "shots")
"""Units of faults whose limit is usually 0, which goes without saying."""
FORMAT = ("size", "depth", "channels", "encoding", "range")
"""Faults of the format, which no change of a correction mends."""
NO_SOURCE = "common practice"
"""How the source of a limit begins that has none; the manual says so, not every line."""


def name_of(fault: Fault) -> str:
    """What a fault is called in text.

    Example:
        >>> name_of(Fault("quay_02.tif", "spread-top")), name_of(Fault("quay_02.tif", "crushed"))
        ('white spread', 'crushed')
    """
    return NAMES.get(fault.fault, fault.fault)


def figures_of(fault: Fault, unit: bool = True) -> str:
    """The value of a fault and its limit as text, with as many decimals as tell them apart; empty without a value.

    Example:
        >>> figures_of(Fault("", "crushed", 2.4, 2.0, "%")), figures_of(Fault("", "crushed", 2.003, 2.0, "%"))
        ('2.4 > 2 %', '2.003 > 2 %')
        >>> figures_of(Fault("", "size", "50 x 20", "100 x 40")), figures_of(Fault("", "gap", 1.0, 0.0, "frames"))
        ('50 x 20, expected 100 x 40', '1 frame')
    """
    value, limit, of = fault.value, fault.limit, fault.unit if unit else ""
    if isinstance(value, str) or isinstance(limit, str) or value is None or limit is None:
        expected = "" if limit is None else f", expected {shown(limit, of)}"
        return ("" if value is None else shown(value, of)) + expected
    if limit == 0 and fault.unit in COUNTED:
        return shown(value, fault.unit)
    figure = shown(value)
    for places in (2, 3, 4):
        figure = f"{value:.{places}f}" if float(figure) == float(shown(limit)) else figure
    return f"{figure} {'<' if value < limit else '>'} {shown(limit, of)}"


def brief(fault: Fault, width: int = 80) -> str:
    """A fault in one line of at most `width` cells: its name is shortened, its value and limit never are.

    Example:
        >>> white = Fault("quay_02.tif", "spread-top", 12.3, 5.0, "%")
        >>> [brief(white, width) for width in (30, 21, 19, 12)]
        ['white spread 12.3 > 5 %', 'white spread 12.3 > 5', 'wht spread 12.3 > 5', 'wht s 12.3>5']
    """
    name, figures, bare = name_of(fault), figures_of(fault), figures_of(fault, unit=False)
    short, close = SHORT.get(name, name), bare.replace(" > ", ">").replace(" < ", "<")
    forms = (f"{name} {figures}", f"{name} {bare}", f"{short} {bare}", f"{short} {close}")
    cut = f"{short[: max(width - len(close) - 1, 0)].rstrip()} {close}"
    return next((form.rstrip() for form in forms if len(form.rstrip()) <= width), cut.strip())


def describe(fault: Fault) -> str:
    """A fault as text, with value, limit and the source of the limit, if it has one.

    Example:
        >>> describe(Fault("quay_02.tif", "outside", 1.1, 1.0, "%", "EBU R 103"))
        'out of range 1.1 > 1 % (EBU R 103)'
        >>> describe(Fault("quay_02.tif", "depth", "8 bit", "16 bit", source="one reel, one depth"))
        'depth 8 bit, expected 16 bit (one reel, one depth)'
    """
    source = "" if not fault.source or fault.source.startswith(NO_SOURCE) else f" ({fault.source})"
    return f"{name_of(fault)} {figures_of(fault)}".rstrip() + source


def _plain(value: Any) -> Any:
    if isinstance(value, float):
        return round(value, 4) if math.isfinite(value) else None
    return value
