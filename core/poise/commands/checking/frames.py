"""The pictures of a check: frames are examined by several processes, and what was found becomes faults."""

from collections import defaultdict
from collections.abc import Iterator, Sequence

from poise.batch.pool import in_order
from poise.batch.worker_process import LostJob
from poise.chain.source import located
from poise.commands.shared.progress import with_progress
from poise.commands.shared.shots import Found
from poise.correction import NEUTRAL
from poise.delivery.examine import ExaminedFrame
from poise.delivery.fault import Fault
from poise.delivery.faults import faults_of_reel
from poise.delivery.limits import Limits
from poise.delivery.shot import faults_of_shot
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
    found: dict[int, dict[int, ExaminedFrame]] = defaultdict(dict)
    faults: list[Fault] = []
    for at, result in with_progress(in_order(look, looks, workers, limit, isolate=True), len(looks), "frames", "check"):
        if isinstance(result, ExaminedFrame):
            found[at.shot][at.place] = result
        else:
            reason = result.reason if isinstance(result, LostJob) else result
            faults.append(Fault(str(at.file), "unreadable", words=reason))
    reel = []
    for place, one in enumerate(shots):
        frames = dict(sorted(found[place].items()))
        faults += faults_of_shot(str(one.path), one.shot, frames, limits, step is not None)
        if one.judged in frames:
            reel.append((str(one.path), frames[one.judged]))
    return [*faults, *faults_of_reel(reel, limits)]


def _looks(shots: Sequence[Found], limits: Limits, step: int | None) -> Iterator[Look]:
    for number, one in enumerate(shots):
        correction = one.sidecar.correction if one.sidecar else NEUTRAL
        encoding = located(one.sidecar.encoding, one.folder) if one.sidecar else None
        places = {one.judged} if step is None else {one.judged, *range(0, len(one.shot.files), step)}
        for place in sorted(places):
            yield Look(number, place, one.shot.files[place], correction, encoding, limits)
