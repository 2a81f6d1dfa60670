"""Faults of the format are printed once for all shots that share them, so that a mixed reel stays readable."""

from collections.abc import Iterable

from poise.commands.shared.output import some
from poise.delivery.consistency import SAME
from poise.delivery.fault import Fault, describe
from poise.errors import one_line

Group = tuple[Fault, ...]


def grouped(faults: Iterable[Fault]) -> tuple[list[Fault], list[Group]]:
    """Split faults into those of pictures, to print one by one, and groups of the same fault of the format.

    Example:
        >>> size = [Fault(name, "size", "480 x 270", "640 x 360") for name in ("quay_02.tif", "ferry_01.tif")]
        >>> one_by_one, groups = grouped([*size, Fault("quay_02.tif", "crushed", 2.4, 2.0, "%")])
        >>> [one.fault for one in one_by_one], [len(group) for group in groups]
        (['crushed'], [2])
    """
    every = list(faults)
    kinds: dict[tuple[object, ...], list[Fault]] = {}
    for fault in every:
        if fault.of_format:
            kinds.setdefault((fault.fault, fault.value, fault.limit, fault.caution), []).append(fault)
    return [fault for fault in every if not fault.of_format], [(*group,) for group in kinds.values()]


def heading(group: Group) -> str:
    """A group in one line: how many shots, and what they have.

    Example:
        >>> heading((Fault("quay_02.tif", "depth", "8 bit", "16 bit"),))
        'format: 1 shot: depth 8 bit, expected 16 bit'
    """
    kind = "caution: " if group[0].caution else ""
    return f"format: {len(group)} shot{'s' * (len(group) > 1)}: {kind}{one_line(describe(group[0]))}"


def advice(group: Group) -> str:
    """What to do about a group."""
    first = group[0]
    return SAME[first.fault][1] if first.fault in SAME else one_line(first.words)


def lines(group: Group) -> str:
    """A group as text: how many shots, which ones, and what to do.

    Example:
        >>> print(lines(tuple(Fault(name, "depth", "8 bit", "16 bit") for name in ("quay_02.tif", "ferry_01.tif"))))
        format: 2 shots: depth 8 bit, expected 16 bit
            quay_02.tif, ferry_01.tif
            write one depth with poise apply --depth
    """
    return "\n    ".join([heading(group), some([fault.file for fault in group]), advice(group)])
