"""Shots of one reel have one size, one depth, one layout of channels and one encoding: those that differ from most."""

from collections import Counter
from collections.abc import Callable, Mapping, Sequence

from poise.correction.model import Encoding
from poise.delivery.examined import Examined
from poise.delivery.fault import Fault
from poise.delivery.limits import Limits

LAYOUTS = {1: "grey", 2: "grey and alpha", 3: "RGB", 4: "RGB and alpha"}


def _encoded(encoding: Encoding) -> str:
    return f"{encoding.delivery}, {encoding.work_primaries}, {encoding.range} range"


def _depth(found: Examined) -> str:
    return found.depth.value if found.depth.is_float else f"{found.depth.value} bit"


SAME: Mapping[str, tuple[Callable[[Examined], str], str]] = {
    "size": (lambda one: f"{one.width} x {one.height}", "deliver one size, or check each by itself"),
    "depth": (_depth, "write one depth by poise apply --depth"),
    "channels": (lambda one: LAYOUTS.get(one.channels, str(one.channels)), "deliver one layout of channels"),
    "encoding": (lambda one: _encoded(one.encoding), "name one delivery and range, as by :delivery-all and :range-all"),
}
"""By limit: what is compared, in words, and what to do."""


def faults(shots: Sequence[tuple[str, Examined]], limits: Limits) -> list[Fault]:
    """Those that are not as most are; of equally many, as those that come first."""
    found = []
    for name, (what, do) in SAME.items():
        limit = limits[name]
        told = [what(one) for _, one in shots]
        if limit is None or not told:
            continue
        usual, _ = Counter(told).most_common(1)[0]
        odd = [(file, value) for (file, _), value in zip(shots, told, strict=True) if value != usual]
        if len(odd) > limit.value:
            for file, value in odd:
                words = f"it is {value}, most of the reel {usual}; {do}"
                found.append(Fault(file, name, value, usual, "", limit.source, words, limit.caution))
    return found
