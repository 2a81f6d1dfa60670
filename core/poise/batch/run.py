"""A run: carries out a plan, records each result in the manifest as it comes, and removes leftovers of killed runs."""

import os
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from poise import __version__
from poise.atomic import orphan
from poise.batch.fingerprint import range_of, recipe
from poise.batch.lock import locked, not_writable
from poise.batch.manifest import Manifest, Record, read, rewrite
from poise.batch.plan import Job, Plan
from poise.batch.pool import LIMIT, as_completed
from poise.batch.resume import Remaining, name_of, remaining
from poise.batch.stop import Stop, stoppable
from poise.batch.worker import FrameResult, process_frame
from poise.batch.worker_process import LostJob
from poise.errors import OutputError

Result = tuple[Job, FrameResult | LostJob | str]
Executor = Callable[[Sequence[Job], Stop], Iterator[Result]]
"""Runs jobs somewhere, and yields each with its result as it ends."""


@dataclass(frozen=True)
class Outcome:
    """How one job ended.

    Attributes:
        result: None if the job failed.
        reason: why it failed, in one line.
    """

    job: Job
    result: FrameResult | None
    reason: str = ""


@dataclass(frozen=True)
class Summary:
    """What a run did.

    Attributes:
        done: sources whose outputs were written, in order.
        unchanged: sources whose outputs were up to date.
        renewed: sources whose outputs were written again, with the reason.
        unrecorded: why the manifest lacks some of the outputs; empty if it is complete.
        interrupted: whether it was asked to stop early.
        seconds: duration of the run.
    """

    done: tuple[Path, ...] = ()
    unchanged: tuple[Path, ...] = ()
    renewed: tuple[tuple[Path, str], ...] = ()
    unrecorded: str = ""
    interrupted: bool = False
    seconds: float = 0.0


ANOTHER = 30.0
"""Seconds that each further frame of a movie may take."""


def here(workers: int, limit: float = LIMIT) -> Executor:
    """An executor on this machine.

    Args:
        workers: number of processes; of fewer jobs, each uses several threads.
        limit: seconds that a job may take; a movie may take longer.
    """

    def execute(jobs: Sequence[Job], stop: Stop) -> Iterator[Result]:
        work = partial(process_frame, threads=max(1, workers // max(len(jobs), 1)))
        longest = max((job.frames for job in jobs), default=1)
        return as_completed(work, jobs, workers, stop, limit + ANOTHER * (longest - 1))

    return execute


def outstanding(plan: Plan, fresh: bool = False, verify: bool = False) -> Remaining:
    """Compare a plan with the manifest in its folder.

    Args:
        fresh: ignore the manifest; every job remains.
        verify: read every source and output, rather than trust their time stamps.

    Raises:
        OutputError: the manifest can't be read.
    """
    return remaining(plan, {} if fresh else read(plan.target.folder), verify)


def run(
    plan: Plan,
    execute: Executor,
    on_outcome: Callable[[Outcome], None],
    on_start: Callable[[Remaining], None] = lambda needed: None,
    *,
    fresh: bool = False,
    verify: bool = False,
) -> Summary:
    """Carry out a plan: a frame that fails never stops the others, and outputs that are up to date are kept.

    On Ctrl-C or SIGTERM it finishes the running jobs and returns.

    Args:
        on_outcome: called with each job as it ends.
        on_start: called once with the jobs to do.
        fresh, verify: as in `outstanding`.

    Raises:
        OutputError: the folder for outputs can't be created or written, or another run is writing into it.

    Example:
        run(plan, here(2), lambda outcome: None).done
    """
    start, folder = time.monotonic(), plan.target.folder
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        raise not_writable(folder, fault) from fault
    done: list[Path] = []
    unrecorded = ""
    with locked(folder), stoppable() as stop, Manifest(folder) as manifest:
        records, superseded = read(folder), 0
        needed = remaining(plan, {} if fresh else records, verify)
        on_start(needed)
        _sweep(plan)
        for job, result in execute(needed.jobs, stop):
            outcome = _outcome(job, result)
            if outcome.result is not None:
                done.append(job.file)
                record = _record(job, outcome.result, folder)
                superseded += record.output in records
                records[record.output] = record
                try:
                    manifest.add(record)
                except OutputError as fault:
                    unrecorded = str(fault)
            on_outcome(outcome)
        _sweep(plan)
        if superseded > len(records) // 2:
            with suppress(OSError):  # the appended lines say the same
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


def _record(job: Job, result: FrameResult, folder: Path) -> Record:
    return Record(
        name_of(job, folder),
        str(job.file),
        result.source_stamp,
        result.source_hash,
        recipe(job),
        result.output_stamp,
        result.output_hash,
        f"poise {__version__}",
        range_of(job),
    )


def _sweep(plan: Plan) -> None:
    """Remove the partial files that killed runs left in the folders of outputs."""
    for folder in {job.output.parent for job in plan.jobs}:
        with suppress(OSError):
            for name in os.listdir(folder):
                if orphan(name):
                    os.unlink(folder / name)
