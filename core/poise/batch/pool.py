"""A pool of processes that knows which process runs which job: a process that crashes or hangs costs only its own job.

A job whose process died runs once more, alone, after all others: the machine may have been short of memory. A job that
exceeds its time limit is not run again.
"""

import time
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import islice
from multiprocessing.connection import wait
from typing import Any, Generic, TypeVar

from poise.batch.stop import Stop, stoppable
from poise.batch.worker_process import LostJob, WorkerProcess, too_long

J = TypeVar("J")
R = TypeVar("R")

LIMIT = 600.0
"""Seconds that a frame may take."""
_LOOK = 0.2
"""Seconds between checks of the time limits and of the stop request."""


@dataclass
class _Worker(Generic[J]):
    """One process and its current job."""

    child: WorkerProcess[J, Any]
    job: J | None = None
    began: float = 0.0
    second: bool = False


def as_completed(
    work: Callable[[J], R], jobs: Iterable[J], workers: int, stop: Stop, limit: float = LIMIT
) -> Iterator[tuple[J, R | LostJob]]:
    """Run jobs in processes; yield each job with its result as it ends.

    Args:
        work: importable by name; jobs and results are pickled.
        workers: number of processes, 1 or more; each has one job at a time.
        stop: after the first request running jobs are finished and no other starts; after the second all are dropped.
        limit: seconds that a job may take.

    Example:
        for job, result in as_completed(process_frame, plan.jobs, 2, Stop()): ...
    """
    waiting, again = _Ahead(jobs), deque[J]()
    pool: list[_Worker[J]] = []
    try:
        while stop.asked < 2:
            while not stop.asked and len(_busy(pool)) < workers and waiting:
                _start(_idle(pool, work), waiting.take())
            if not (stop.asked or waiting or _busy(pool)) and again:
                _start(_idle(pool, work), again.popleft(), second=True)
            if not _busy(pool):
                return
            for worker, result in _ended(pool, limit):
                job, worker.job = worker.job, None
                assert job is not None
                if isinstance(result, LostJob) and result.again and not worker.second:
                    again.append(job)
                else:
                    yield job, result
    finally:
        for worker in pool:
            worker.child.end()


def in_order(
    work: Callable[[J], R], jobs: Sequence[J], workers: int, limit: float = LIMIT, *, isolate: bool = False
) -> Iterator[tuple[J, R | LostJob]]:
    """Run jobs in processes until Ctrl-C; yield each job with its result, in the order of the jobs.

    Args:
        work: importable by name; jobs and results are pickled.
        workers: largest number of processes.
        limit: seconds that a job may take.
        isolate: run a single job in a process too; otherwise it runs in this one, which saves the start of a process.

    Raises:
        KeyboardInterrupt: the user or the system asked to stop; running jobs were finished and yielded first.

    Example:
        for job, result in in_order(process_frame, plan.jobs, 2): ...
    """
    if len(jobs) == 1 and not isolate:
        yield jobs[0], work(jobs[0])
        return
    positions = {id(job): position for position, job in enumerate(jobs)}
    finished: dict[int, R | LostJob] = {}
    following = 0
    with stoppable() as stop:
        for job, result in as_completed(work, jobs, min(workers, len(jobs)), stop, limit) if jobs else ():
            finished[positions[id(job)]] = result
            while following in finished:
                yield jobs[following], finished.pop(following)
                following += 1
    for position in sorted(finished):
        yield jobs[position], finished[position]
    if stop.asked:
        raise KeyboardInterrupt


class _Ahead(Generic[J]):
    """An iterator of jobs that knows whether there is another one; jobs may be created lazily."""

    def __init__(self, jobs: Iterable[J]) -> None:
        self._jobs = iter(jobs)
        self._next = deque[J](islice(self._jobs, 1))

    def __bool__(self) -> bool:
        return bool(self._next)

    def take(self) -> J:
        job = self._next.popleft()
        self._next.extend(islice(self._jobs, 1))
        return job


def _busy(pool: list[_Worker[J]]) -> list[_Worker[J]]:
    return [worker for worker in pool if worker.job is not None]


def _idle(pool: list[_Worker[J]], work: Callable[[J], R]) -> _Worker[J]:
    """An idle process; a new one if all are busy."""
    for worker in pool:
        if worker.job is None:
            return worker
    worker = _Worker[J](WorkerProcess(work))
    pool.append(worker)
    return worker


def _start(worker: _Worker[J], job: J, second: bool = False) -> None:
    worker.job, worker.began, worker.second = job, time.monotonic(), second
    worker.child.start(job)


def _ended(pool: list[_Worker[J]], limit: float) -> Iterator[tuple[_Worker[J], Any]]:
    """Workers whose job ended, with its result; a worker that died or exceeded the limit leaves the pool."""
    busy = _busy(pool)
    until = min(worker.began + limit for worker in busy) - time.monotonic()
    ready = wait([worker.child.pipe for worker in busy], max(0.0, min(until, _LOOK)))
    now = time.monotonic()
    for worker in busy:
        if worker.child.pipe in ready:
            result = worker.child.result()
        elif now - worker.began > limit:
            result = too_long(limit)
        else:
            continue
        if isinstance(result, LostJob):
            pool.remove(worker)
            worker.child.end()
        yield worker, result
