"""The pictures of `poise check`: processes examine frames, and their results become faults."""

from collections import defaultdict
from collections.abc import Iterator, Sequence

from poise.batch.pool import in_order
from poise.batch.worker_process import LostJob
from poise.chain.source import resolve_source
from poise.commands.shared.progress import with_progress
from poise.commands.shared.shots import Found
from poise.correction.model import Range
from poise.delivery.examine import ExaminedFrame
from poise.delivery.fault import Fault
from poise.delivery.faults import faults_of_reel
from poise.delivery.limits import Limits
from poise.delivery.shot import faults_of_shot
from poise.delivery.worker import FrameJob, examine_job


def examined(
    shots: Sequence[Found], limits: Limits, step: int | None, workers: int, limit: float, range: Range | None = None
) -> list[Fault]:
    """The faults of the pictures of shots.

    Args:
        step: examine every Nth frame of a sequence; None for the judged frame alone.
        workers: largest number of processes.
        limit: seconds that a frame may take.
        range: of files that nothing was decided about, and that nothing else tells it of.

    Raises:
        KeyboardInterrupt: as `poise.batch.pool.in_order`.
    """
    jobs = list(_jobs(shots, limits, step, range))
    found: dict[int, dict[int, ExaminedFrame]] = defaultdict(dict)
    faults: list[Fault] = []
    results = in_order(examine_job, jobs, workers, limit, isolate=True)
    for job, result in with_progress(results, len(jobs), "frames", "check"):
        if isinstance(result, ExaminedFrame):
            found[job.shot][job.place] = result
        else:
            reason = result.reason if isinstance(result, LostJob) else result
            faults.append(Fault(str(job.file), "unreadable", words=reason))
    reel = []
    for place, one in enumerate(shots):
        frames = dict(sorted(found[place].items()))
        faults += faults_of_shot(str(one.path), one.shot, frames, limits, step is not None)
        if one.judged in frames:
            reel.append((str(one.path), frames[one.judged]))
    return [*faults, *faults_of_reel(reel, limits)]


def _jobs(shots: Sequence[Found], limits: Limits, step: int | None, given: Range | None) -> Iterator[FrameJob]:
    for number, one in enumerate(shots):
        encoding = resolve_source(one.sidecar.encoding, one.folder) if one.sidecar else None
        places = {one.judged} if step is None else {one.judged, *range(0, len(one.shot.files), step)}
        for place in sorted(places):
            yield FrameJob(number, place, one.shot.files[place], one.delivered(place), encoding, limits, given)
