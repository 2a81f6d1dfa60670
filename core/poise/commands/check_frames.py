"""The pictures of a check: frames are examined by several processes, and what was found becomes faults."""

from collections import defaultdict
from collections.abc import Iterator, Sequence

from msgspec.structs import replace

from poise.batch.child import Lost
from poise.batch.pool import processes
from poise.batch.stop import stoppable
from poise.commands.check_pace import paced
from poise.commands.shots import Found
from poise.correction import NEUTRAL
from poise.delivery import alike, over_frames
from poise.delivery.examined import Examined
from poise.delivery.fault import Fault
from poise.delivery.faults import faults_of, faults_of_reel
from poise.delivery.limits import Limits
from poise.delivery.worker import Look, look


def examined(shots: Sequence[Found], limits: Limits, step: int | None, workers: int, limit: float) -> list[Fault]:
    """What is wrong with the pictures of shots.

    Args:
        step: every how many frames of a sequence; None for the judged one alone.
        workers: processes at most.
        limit: seconds that a frame may take.

    Raises:
        KeyboardInterrupt: it was asked to end.
    """
    looks = list(_looks(shots, limits, step))
    found: dict[int, dict[int, Examined]] = defaultdict(dict)
    faults: list[Fault] = []
    with stoppable() as stop:
        results = processes(look, looks, min(workers, len(looks)), stop, limit)
        for at, result in paced(results, len(looks), "frames"):
            if isinstance(result, Examined):
                found[at.shot][at.place] = result
            else:
                reason = result.reason if isinstance(result, Lost) else result
                faults.append(Fault(str(at.file), "unreadable", words=reason))
        if stop.asked:
            raise KeyboardInterrupt
    reel = []
    for place, one in enumerate(shots):
        frames = dict(sorted(found[place].items()))
        faults += over_frames.gaps(str(one.path), one.shot)
        faults += _of_shot(one, frames, limits, step)
        if one.judged in frames:
            reel.append((str(one.path), frames[one.judged]))
    return [*faults, *faults_of_reel(reel, limits)]


def _looks(shots: Sequence[Found], limits: Limits, step: int | None) -> Iterator[Look]:
    for number, one in enumerate(shots):
        correction, encoding = (one.sidecar.correction, one.sidecar.encoding) if one.sidecar else (NEUTRAL, None)
        places = {one.judged} if step is None else {one.judged, *range(0, len(one.shot.files), step)}
        for place in sorted(places):
            yield Look(number, place, one.shot.files[place], correction, encoding, limits)


def _of_shot(one: Found, frames: dict[int, Examined], limits: Limits, step: int | None) -> list[Fault]:
    """What is wrong with one shot: of several frames with the same fault the worst stands for all."""
    if step is None or not one.shot.numbers:
        return [fault for found in frames.values() for fault in faults_of(str(one.path), found, limits)]
    every: dict[str, list[Fault]] = defaultdict(list)
    named = [(str(one.shot.files[place]), found) for place, found in frames.items()]
    for file, found in named:
        for fault in faults_of(file, found, limits):
            every[fault.fault].append(fault)
    for fault in alike.faults(named, limits):
        every[fault.fault].append(fault)
    readings = [(one.shot.numbers[place], found.readings) for place, found in frames.items()]
    return [*map(_worst, every.values()), *over_frames.faults(str(one.path), readings, limits)]


def _worst(faults: Sequence[Fault]) -> Fault:
    """The one that is farthest beyond its limit, with how many more there are."""

    def beyond(fault: Fault) -> float:
        value, limit = fault.value, fault.limit
        return abs(value - limit) if isinstance(value, float) and isinstance(limit, float) else 0.0

    worst = max(faults, key=beyond)
    if len(faults) == 1:
        return worst
    more = len(faults) - 1
    words = f"{worst.words} (and {more} more frame{'s' if more > 1 else ''}; this is the worst)"
    return replace(worst, words=words)
