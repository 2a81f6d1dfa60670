"""A run: what a plan needs done is done, each result told and recorded as it comes, and the folder is kept clean."""

import os
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from poise import __version__
from poise.atomic import orphan
from poise.batch.fingerprint import recipe
from poise.batch.lock import closed, locked
from poise.batch.manifest import Manifest, Record, read, rewrite
from poise.batch.plan import Job, Plan
from poise.batch.pool import LIMIT, as_completed
from poise.batch.resume import Work, name_of, work
from poise.batch.stop import Stop, stoppable
from poise.batch.worker import FrameResult, process_frame
from poise.batch.worker_process import LostJob
from poise.errors import OutputError

Result = tuple[Job, FrameResult | LostJob | str]
Executor = Callable[[Iterable[Job], Stop], Iterator[Result]]
"""Does jobs somewhere, and yields each with its result as it ends."""


@dataclass(frozen=True)
class Outcome:
    """How one job ended: what was made, or why nothing was."""

    job: Job
    made: FrameResult | None
    reason: str = ""


@dataclass(frozen=True)
class Summary:
    """What a run did.

    Attributes:
        done: files that are done, in order.
        unchanged: files whose output stands from an earlier run.
        renewed: of those done, why they were although they had been done before.
        unrecorded: why the manifest doesn't hold all that was done; empty when it does.
        interrupted: whether it was asked to end before its end.
        seconds: what it took.
    """

    done: tuple[Path, ...] = ()
    unchanged: tuple[Path, ...] = ()
    renewed: tuple[tuple[Path, str], ...] = ()
    unrecorded: str = ""
    interrupted: bool = False
    seconds: float = 0.0


def here(workers: int, limit: float = LIMIT) -> Executor:
    """Jobs are done on this machine, by so many processes, each in at most so many seconds."""
    return lambda jobs, stop: as_completed(process_frame, jobs, workers, stop, limit)


def outstanding(plan: Plan, fresh: bool = False, verify: bool = False) -> Work:
    """What a plan needs done, in the light of the manifest in its folder.

    Args:
        fresh: everything, whatever was done before.
        verify: read every source and output, rather than trust the file system.

    Raises:
        OutputError: the manifest can't be read.
    """
    return work(plan, {} if fresh else read(plan.target.folder), verify)


def run(
    plan: Plan,
    execute: Executor,
    told: Callable[[Outcome], None],
    begun: Callable[[Work], None] = lambda needed: None,
    *,
    fresh: bool = False,
    verify: bool = False,
) -> Summary:
    """Carries out a plan; one bad frame never stops the rest, and what stands from an earlier run is not done again.

    Asked to end (Ctrl-C, SIGTERM), it finishes what it has begun.

    Args:
        told: called with each job as it ends.
        begun: called once with what has to be done.
        fresh, verify: as in `outstanding`.

    Raises:
        OutputError: the folder for outputs can't be made or written, or another run writes into it.

    Example:
        run(plan, here(2), lambda outcome: None).done
    """
    start, folder = time.monotonic(), plan.target.folder
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        raise closed(folder, fault) from fault
    done: list[Path] = []
    unrecorded = ""
    with locked(folder), stoppable() as stop, Manifest(folder) as manifest:
        records, superseded = read(folder), 0
        needed = work(plan, {} if fresh else records, verify)
        begun(needed)
        _sweep(plan)
        for job, result in execute(needed.jobs, stop):
            outcome = _outcome(job, result)
            if outcome.made is not None:
                done.append(job.file)
                record = _record(job, outcome.made, folder)
                superseded += record.output in records
                records[record.output] = record
                try:
                    manifest.add(record)
                except OutputError as fault:
                    unrecorded = str(fault)
            told(outcome)
        _sweep(plan)
        if superseded > len(records) // 2:
            with suppress(OSError):  # the lines that were added say the same
                rewrite(folder, records)
    place = {job.file: number for number, job in enumerate(plan.jobs)}
    return Summary(
        done=tuple(sorted(done, key=place.__getitem__)),
        unchanged=tuple(job.file for job in needed.unchanged),
        renewed=tuple(needed.renewed.items()),
        unrecorded=unrecorded,
        interrupted=bool(stop.asked),
        seconds=time.monotonic() - start,
    )


def _outcome(job: Job, result: FrameResult | LostJob | str) -> Outcome:
    if isinstance(result, FrameResult):
        return Outcome(job, result)
    return Outcome(job, None, result.reason if isinstance(result, LostJob) else result)


def _record(job: Job, made: FrameResult, folder: Path) -> Record:
    return Record(
        name_of(job, folder),
        str(job.file),
        made.source_stamp,
        made.source_hash,
        recipe(job),
        made.output_stamp,
        made.output_hash,
        f"poise {__version__}",
    )


def _sweep(plan: Plan) -> None:
    """Removes what killed runs left half written in the folders of outputs."""
    for folder in {job.output.parent for job in plan.jobs}:
        with suppress(OSError):
            for name in os.listdir(folder):
                if orphan(name):
                    os.unlink(folder / name)
