"""Sets of delivery limits in small TOML files: some are part of the package, users can write their own."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from math import inf, isfinite
from pathlib import Path
from typing import Any, cast

from poise.correction.model import Range
from poise.delivery.fault import Fault
from poise.errors import UsageError, one_line
from poise.regular_file import open_regular_file

SETS = ("baseline", "ebu-r103", "full", "narrow")
"""The sets that have a name; the first is the default."""
UNITS: Mapping[str, str] = {
    "lowest": "%",
    "highest": "%",
    "outside": "%",
    "invalid": "%",
    "crushed": "%",
    "clipped": "%",
    "black-under": "%",
    "black-over": "%",
    "white-under": "%",
    "white-over": "%",
    "spread-bottom": "%",
    "spread-middle": "%",
    "spread-top": "%",
    "cast": "%",
    "apart": "deviations",
    "size": "shots",
    "depth": "shots",
    "channels": "shots",
    "encoding": "shots",
    "drift": "%",
    "flicker": "%",
    "jumps": "frames",
    "steps": "frames",
}
"""All limits, and their units."""
_SIGNED = ("lowest", "highest", "black-under", "black-over", "white-under", "white-over")
"""Limits that may be negative; all others are amounts."""
_LARGEST = 1 << 16
_BEYOND = 1e12
"""Absolute values of limits are below this."""
_FOLDER = Path(__file__).parent / "sets"
_COMMON = "common"
"""The base of the sets in the package."""


@dataclass(frozen=True)
class Limit:
    """One limit.

    Attributes:
        unit: see `UNITS`.
        caution: exceeding it is a caution, which does not fail a check.
    """

    value: float
    unit: str
    source: str
    caution: bool = False


@dataclass(frozen=True)
class Limits:
    """A set of limits.

    Attributes:
        range: the range that integer files must have, full or narrow; None for any.
        of: the limits by name; a limit that is missing is not checked.
    """

    name: str
    range: Range | None
    of: Mapping[str, Limit]

    @property
    def threshold(self) -> float:
        """The score over which a shot is an outlier; infinite if outliers are not checked."""
        limit = self["apart"]
        return limit.value if limit else inf

    def __getitem__(self, name: str) -> Limit | None:
        return self.of.get(name)

    def check(self, file: str, name: str, value: float, words: str) -> list[Fault]:
        """The fault of a value beyond a limit; empty if it is within, not finite, or there is no such limit.

        A value is beyond a limit named `-under` when it is below it, and beyond any other when it is above.

        Args:
            words: what is wrong and what to do, as in `Fault`.

        Example:
            >>> [fault.limit for fault in load("ebu-r103").check("quay_02.tif", "outside", 1.2, "lower white")]
            [1.0]
        """
        limit = self[name]
        if limit is None or not isfinite(value):
            return []
        if value >= limit.value if name.endswith("-under") else value <= limit.value:
            return []
        return [Fault(file, name, value, limit.value, limit.unit, limit.source, words, limit.caution)]


def load(wanted: str | Path = SETS[0]) -> Limits:
    """Load a set by name, or from a TOML file that modifies another set.

    A file has `base` (the set that it modifies; default baseline), `range`, and for each limit that differs a number,
    false to remove the limit, or a table of `value`, `unit`, `source` and `caution`.

    Raises:
        UsageError: there is no such set, or the file can't be read or is not a valid set.

    Example:
        >>> load("ebu-r103")["outside"].value
        1.0
    """
    name = str(wanted)
    return _shipped(name) if name in SETS else _read(Path(wanted), SETS[0])


def _shipped(name: str) -> Limits:
    return _read(_FOLDER / f"{name}.toml", None)


def _read(path: Path, default: str | None) -> Limits:
    """Load a set from a file, on top of its base."""
    found = _parsed(path)
    base = found.pop("base", default)
    if base not in (*SETS, _COMMON, None):
        raise _wrong(path, f"base: there is no set {base!r}; use {', '.join(SETS)}")
    under = _shipped(base) if base else None
    wanted = found.pop("range", under.range if under else None)
    if wanted not in (None, "full", "narrow"):
        raise _wrong(path, f'range: {wanted!r} is neither "full" nor "narrow"')
    limits = dict(under.of) if under else {}
    for name, value in found.items():
        if name not in UNITS:
            raise _wrong(path, f"{name}: there is no such limit; there are {', '.join(UNITS)}")
        if value is False:
            limits.pop(name, None)
        else:
            limits[name] = _limit(path, name, value, limits.get(name))
    lowest, highest = limits.get("lowest"), limits.get("highest")
    if lowest and highest and lowest.value >= highest.value:
        raise _wrong(path, f"lowest: {lowest.value:g} is not below highest, which is {highest.value:g}")
    return Limits(path.stem, cast("Range | None", wanted), limits)


def _limit(path: Path, name: str, given: Any, under: Limit | None) -> Limit:
    table = given if isinstance(given, dict) else {"value": given}
    for key in table:
        if key not in ("value", "unit", "source", "caution"):
            raise _wrong(path, f"{name}.{key}: a limit has value, unit, source and caution")
    unit, value = UNITS[name], table.get("value", under.value if under else None)
    if isinstance(value, bool) or not isinstance(value, int | float) or not -_BEYOND < value < _BEYOND:
        raise _wrong(
            path, f"{name}: {value!r:.40} is not a valid limit; use a number in {unit}, or false to remove the limit"
        )
    if value < 0 and name not in _SIGNED:
        raise _wrong(path, f"{name}: {value:g} is below 0; use an amount in {unit}, or false to remove the limit")
    if table.get("unit", unit) != unit:
        raise _wrong(path, f"{name}: its unit is {unit}, not {table['unit']!r}")
    source = table.get("source", under.source if under and "value" not in table else path.name)
    caution = table.get("caution", under.caution if under else False)
    if not isinstance(source, str) or not isinstance(caution, bool):
        raise _wrong(path, f"{name}: source must be a string, and caution true or false")
    return Limit(float(value), unit, one_line(source), caution)


def _parsed(path: Path) -> dict[str, Any]:
    try:
        with open(path, "rb", opener=open_regular_file) as file:
            content = file.read(_LARGEST + 1)
    except FileNotFoundError:
        raise _wrong(path, f"no such set of limits and no such file; use {', '.join(SETS)} or a TOML file") from None
    except OSError as fault:
        raise _wrong(path, f"can't be read: {(fault.strerror or str(fault)).lower()}") from None
    if len(content) > _LARGEST:
        raise _wrong(path, f"larger than {_LARGEST >> 10} KB, so not a set of limits")
    try:
        return tomllib.loads(content.decode())
    except (ValueError, RecursionError) as fault:
        raise _wrong(path, f"not valid TOML: {fault}; fix it") from None


def _wrong(path: Path, reason: str) -> UsageError:
    return UsageError(f"{one_line(path)}: {one_line(reason)}")
