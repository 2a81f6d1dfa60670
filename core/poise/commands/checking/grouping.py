"""Shots that differ from the reel in the same way are printed once, so that a mixed reel stays readable."""

from collections.abc import Iterable

from poise.commands.shared.output import some
from poise.delivery.consistency import SAME
from poise.delivery.fault import Fault, describe
from poise.errors import one_line

Group = tuple[Fault, ...]


def grouped(faults: Iterable[Fault]) -> tuple[list[Fault], list[Group]]:
    """Split faults into those to print one by one, and groups that several shots share: size, depth, layout, encoding.

    Example:
        >>> size = [Fault(name, "size", "480 x 270", "640 x 360") for name in ("quay_02.tif", "ferry_01.tif")]
        >>> one_by_one, groups = grouped([*size, Fault("quay_02.tif", "crushed", 2.4, 2.0, "%")])
        >>> [one.fault for one in one_by_one], [len(group) for group in groups]
        (['crushed'], [2])
    """
    kinds: dict[tuple[object, ...], list[Fault]] = {}
    for fault in faults:
        if fault.fault in SAME:
            kinds.setdefault((fault.fault, fault.value, fault.limit, fault.caution), []).append(fault)
    shared = [(*group,) for group in kinds.values() if len(group) > 1]
    within = {id(fault) for group in shared for fault in group}
    return [fault for fault in faults if id(fault) not in within], shared


def lines(group: Group) -> str:
    """A group as text: how many shots, which ones, and what to do.

    Example:
        >>> print(lines(tuple(Fault(name, "depth", "8 bit", "16 bit") for name in ("quay_02.tif", "ferry_01.tif"))))
        2 shots: depth 8 bit, expected 16 bit
            quay_02.tif, ferry_01.tif
            write one depth with poise apply --depth
    """
    first = group[0]
    kind = "caution: " if first.caution else ""
    names = some([fault.file for fault in group])
    return "\n    ".join([f"{len(group)} shots: {kind}{one_line(describe(first))}", names, SAME[first.fault][1]])
