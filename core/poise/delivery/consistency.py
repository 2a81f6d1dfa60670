"""Faults of shots whose size, depth, channel layout or encoding differs from that of most of the reel."""

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from poise.correction.model import Encoding
from poise.delivery.fault import Fault
from poise.delivery.limits import Limits
from poise.frames.frame import Depth

if TYPE_CHECKING:
    from poise.delivery.examine import ExaminedFrame
    # importing it loads the engine, which the app opens without

LAYOUTS = {1: "grey", 2: "grey and alpha", 3: "RGB", 4: "RGB and alpha"}


@dataclass(frozen=True)
class Kind:
    """The properties that shots of a reel share; channels include alpha, and are 0 where unknown."""

    width: int
    height: int
    depth: Depth
    channels: int
    encoding: Encoding


def _encoded(encoding: Encoding) -> str:
    return f"{encoding.delivery}, {encoding.work_primaries}, {encoding.range} range"


SAME: Mapping[str, tuple[Callable[[Kind], str], str]] = {
    "size": (lambda one: f"{one.width} x {one.height}", "deliver one size, or check each size on its own"),
    "depth": (
        lambda one: one.depth.value if one.depth.is_float else f"{one.depth.value} bit",
        "write one depth with poise apply --depth",
    ),
    "channels": (lambda one: LAYOUTS.get(one.channels, ""), "deliver one channel layout"),
    "encoding": (
        lambda one: _encoded(one.encoding),
        "set one delivery and range, with :delivery-all and :range-all",
    ),
}
"""By limit: the compared property as text, and what to do about a difference."""


def kind(found: "ExaminedFrame") -> Kind:
    """The `Kind` of an examined picture."""
    return Kind(found.width, found.height, found.depth, found.channels, found.encoding)


def descriptions(one: Kind) -> tuple[str, ...]:
    """The properties of a kind as text, one for each entry of `SAME`."""
    return tuple(what(one) for what, _ in SAME.values())


def majority(kinds: Mapping[tuple[str, ...], int], limits: Limits) -> tuple[str | None, ...]:
    """The property that most shots have, for each entry of `SAME`; None where the limit is kept.

    Args:
        kinds: the number of shots by their `descriptions`; the first one wins a tie.
    """
    found: list[str | None] = []
    for place, name in enumerate(SAME):
        counted: Counter[str] = Counter()
        for words, number in kinds.items():
            counted[words[place]] += number
        limit = limits[name]
        most = max(counted.items(), key=lambda pair: pair[1], default=("", 0))
        found.append(most[0] if limit is not None and counted.total() - most[1] > limit.value else None)
    return tuple(found)


def differences(file: str, words: tuple[str, ...], expected: tuple[str | None, ...], limits: Limits) -> list[Fault]:
    """The faults of one shot that differs from most."""
    found = []
    for (name, (_, do)), value, most in zip(SAME.items(), words, expected, strict=True):
        limit = limits[name]
        if limit is not None and most is not None and value != most:
            why = f"it is {value}, most of the reel {most}; {do}"
            found.append(Fault(file, name, value, most, "", limit.source, why, limit.caution))
    return found


def faults(shots: "Sequence[tuple[str, ExaminedFrame]]", limits: Limits) -> list[Fault]:
    """The faults of all shots that differ from most of the reel.

    Args:
        shots: each with its name, in order.
    """
    words = [descriptions(kind(one)) for _, one in shots]
    most = majority(Counter(words), limits)
    named = zip(shots, words, strict=True)
    return [fault for (file, _), one in named for fault in differences(file, one, most, limits)]
