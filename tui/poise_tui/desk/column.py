"""A column of the desk: three keys that raise, lower and reset one control."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import reduce
from typing import Any

from msgspec.structs import replace

from poise.correction import Control, Correction
from poise.correction import controls as c
from poise_tui.desk.hand import Hand


@dataclass(frozen=True)
class Number:
    """The number of a column, to be typed.

    Attributes:
        control: its unit and limits, which can depend on the zone.
        read: returns it; the mean, if it stands for several that differ.
        write: returns the correction with another; raises PoiseError or ValueError if the model does not allow it.
    """

    control: Callable[[Hand], Control]
    read: Callable[[Correction, Hand], float]
    write: Callable[[Correction, Hand, float], Correction]


@dataclass(frozen=True)
class Column:
    """One column of a bank.

    Attributes:
        name: short enough for eight cells.
        coloured: whether it treats channels differently, which a greyscale picture can't take.
        nudged: returns the correction moved by a number of steps.
        home: returns the correction with this control neutral.
        read: returns value and unit, as text.
        number: what can be typed for it.
        zoned: whether it moves the zone.
        note: returns a message about a nudge from the first correction to the second; empty for none.
        follow: returns the hand after this column changed the first correction to the second.
    """

    name: str
    coloured: bool
    nudged: Callable[[Correction, Hand, float], Correction]
    home: Callable[[Correction, Hand], Correction]
    read: Callable[[Correction, Hand], tuple[str, str]]
    number: Number
    zoned: bool = False
    note: Callable[[Correction, Correction], str] = lambda before, after: ""
    follow: Callable[[Correction, Correction, Hand], Hand] = lambda before, after, hand: hand


@dataclass(frozen=True)
class Lens:
    """Gets and replaces the part of a correction that a column acts on."""

    get: Callable[[Correction, Hand], Any]
    put: Callable[[Correction, Hand, Any], Correction]


WHOLE = Lens(lambda correction, hand: correction, lambda correction, hand, changed: changed)
"""The whole correction."""


def stepped(control: Control, value: float, steps: float) -> float:
    """A control's value moved by steps, clamped to its limits.

    Example:
        >>> stepped(c.EXPOSURE, 0.0, 3)
        0.25
    """
    return control.clamp(value * control.step**steps if control.ratio else value + control.step * steps)


def number(control: Control, value: float) -> str:
    """A value with as many decimals as its finest step needs; a difference from neutral has a sign."""
    places = {"stops": 2, "mired": 1, "CC": 2, "degrees": 1, "of height": 4}.get(control.unit, 3)
    signed = "+" if control.neutral == 0 and not control.ratio and control.low < 0 and control is not c.BLACK else ""
    return f"{value:{signed}.{places}f}"


def got(struct: Any, path: str) -> Any:
    """The value at a key path."""
    return reduce(getattr, path.split("."), struct)


def put(struct: Any, path: str, value: Any) -> Any:
    """A struct with another value at a key path.

    Raises:
        ValueError: the model does not allow it together with the other values.

    Example:
        >>> put(Correction(), "light.exposure", 0.5).light.exposure
        0.5
    """
    part, _, rest = path.partition(".")
    return replace(struct, **{part: put(getattr(struct, part), rest, value) if rest else value})


def plain(name: str, control: Control, coloured: bool = False, part: Lens = WHOLE) -> Column:
    """A column of one number."""

    def read(correction: Correction, hand: Hand) -> float:
        return float(got(part.get(correction, hand), control.path))

    def to(correction: Correction, hand: Hand, value: float) -> Correction:
        return part.put(correction, hand, put(part.get(correction, hand), control.path, value))

    return Column(
        name,
        coloured,
        lambda now, hand, steps: to(now, hand, stepped(control, read(now, hand), steps)),
        lambda now, hand: to(now, hand, control.neutral),
        lambda now, hand: (number(control, read(now, hand)), control.unit or "bend"),
        Number(lambda hand: control, read, to),
    )
