"""All faults of one shot: of the judged frame, or of many frames together."""

from collections import defaultdict
from collections.abc import Mapping, Sequence

from msgspec.structs import replace

from poise.delivery import consistency, over_frames
from poise.delivery.examine import ExaminedFrame
from poise.delivery.fault import Fault
from poise.delivery.faults import faults_of
from poise.delivery.limits import Limits
from poise.frames.shots import Shot


def faults_of_shot(
    file: str, shot: Shot, frames: Mapping[int, ExaminedFrame], limits: Limits, together: bool = False
) -> list[Fault]:
    """The faults of a shot, regardless of the reel.

    Args:
        file: the still, or the pattern of a sequence, with its folder.
        frames: by their index among the files of the shot, in order.
        together: report a fault that several frames share once, for the worst frame.
    """
    missing = over_frames.gaps(file, shot)
    if not together or not shot.numbers:
        return [*missing, *(fault for found in frames.values() for fault in faults_of(file, found, limits))]
    every: dict[str, list[Fault]] = defaultdict(list)
    named = [(str(shot.files[place]), found) for place, found in frames.items()]
    for name, found in named:
        for fault in faults_of(name, found, limits):
            every[fault.fault].append(fault)
    for fault in consistency.faults(named, limits):
        every[fault.fault].append(fault)
    readings = [(shot.numbers[place], found.readings) for place, found in frames.items()]
    return [*missing, *map(_worst, every.values()), *over_frames.faults(file, readings, limits)]


def _worst(faults: Sequence[Fault]) -> Fault:
    """The fault farthest beyond its limit, with the number of others."""

    worst = max(faults, key=lambda fault: fault.beyond)
    if len(faults) == 1:
        return worst
    more = len(faults) - 1
    words = f"{worst.words} (and {more} more frame{'s' if more > 1 else ''}; this is the worst)"
    return replace(worst, words=words)
