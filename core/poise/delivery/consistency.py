"""Shots of one reel have one size, one depth, one layout of channels and one encoding: those that differ from most."""

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from poise.correction.model import Encoding
from poise.delivery.fault import Fault
from poise.delivery.limits import Limits
from poise.frames.frame import Depth

if TYPE_CHECKING:
    from poise.delivery.examine import Examined  # it brings the engine, which the app does without at first

LAYOUTS = {1: "grey", 2: "grey and alpha", 3: "RGB", 4: "RGB and alpha"}


@dataclass(frozen=True)
class Kind:
    """What shots of a reel have in common; channels count alpha, and are 0 where they are not known."""

    width: int
    height: int
    depth: Depth
    channels: int
    encoding: Encoding


def _encoded(encoding: Encoding) -> str:
    return f"{encoding.delivery}, {encoding.work_primaries}, {encoding.range} range"


SAME: Mapping[str, tuple[Callable[[Kind], str], str]] = {
    "size": (lambda one: f"{one.width} x {one.height}", "deliver one size, or check each by itself"),
    "depth": (
        lambda one: one.depth.value if one.depth.is_float else f"{one.depth.value} bit",
        "write one depth by poise apply --depth",
    ),
    "channels": (lambda one: LAYOUTS.get(one.channels, ""), "deliver one layout of channels"),
    "encoding": (
        lambda one: _encoded(one.encoding),
        "name one delivery and range, as by :delivery-all and :range-all",
    ),
}
"""By limit: what is compared, in words, and what to do."""


def kind(found: "Examined") -> Kind:
    """The kind of a picture that was examined."""
    return Kind(found.width, found.height, found.depth, found.channels, found.encoding)


def told(one: Kind) -> tuple[str, ...]:
    """A kind in words, one for each of `SAME`."""
    return tuple(what(one) for what, _ in SAME.values())


def usual(kinds: Mapping[tuple[str, ...], int], limits: Limits) -> tuple[str | None, ...]:
    """What most are, for each of `SAME`; None where no limit is passed, so that no shot is at fault.

    Args:
        kinds: in words, and how many shots are so; of equally many the first stands.
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


def differing(file: str, words: tuple[str, ...], usual: tuple[str | None, ...], limits: Limits) -> list[Fault]:
    """The faults of one shot that is not as most are."""
    found = []
    for (name, (_, do)), value, most in zip(SAME.items(), words, usual, strict=True):
        limit = limits[name]
        if limit is not None and most is not None and value != most:
            why = f"it is {value}, most of the reel {most}; {do}"
            found.append(Fault(file, name, value, most, "", limit.source, why, limit.caution))
    return found


def faults(shots: "Sequence[tuple[str, Examined]]", limits: Limits) -> list[Fault]:
    """Those that are not as most are."""
    words = [told(kind(one)) for _, one in shots]
    most = usual(Counter(words), limits)
    named = zip(shots, words, strict=True)
    return [fault for (file, _), one in named for fault in differing(file, one, most, limits)]
