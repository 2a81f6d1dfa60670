"""A pool of processes that knows which of them is at which job, so that one that dies or hangs costs only that.

A job whose process died is done once more, alone, when all else is done: what killed it may have been the whole
machine's lack of memory. One that takes longer than it may is not tried again.
"""

import time
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from itertools import islice
from multiprocessing.connection import wait
from typing import Any, Generic, TypeVar

from poise.batch.stop import Stop
from poise.batch.worker_process import Child, Lost, too_long

J = TypeVar("J")
R = TypeVar("R")

LIMIT = 600.0
"""Seconds that a frame may take."""
_LOOK = 0.2
"""Seconds between looks at the clock and at whether the run was asked to end."""


@dataclass
class _Worker(Generic[J]):
    """One process, and what it is at."""

    child: Child[J, Any]
    job: J | None = None
    began: float = 0.0
    second: bool = False


def processes(
    work: Callable[[J], R], jobs: Iterable[J], workers: int, stop: Stop, limit: float = LIMIT
) -> Iterator[tuple[J, R | Lost]]:
    """Runs jobs in processes and yields each with its result as it ends.

    Args:
        work: importable by name; jobs and results are pickled.
        workers: processes, 1 or more; each has one job at a time.
        stop: asked once, what has begun is finished and nothing else is started; asked again, nothing is.
        limit: seconds that a job may take.

    Example:
        for job, result in processes(do, plan.jobs, 2, Stop()): ...
    """
    waiting, again = _Ahead(jobs), deque[J]()
    crew: list[_Worker[J]] = []
    try:
        while stop.asked < 2:
            while not stop.asked and len(_busy(crew)) < workers and waiting:
                _hand(_idle(crew, work), waiting.take())
            if not (stop.asked or waiting or _busy(crew)) and again:
                _hand(_idle(crew, work), again.popleft(), second=True)
            if not _busy(crew):
                return
            for worker, result in _ended(crew, limit):
                job, worker.job = worker.job, None
                assert job is not None
                if isinstance(result, Lost) and result.again and not worker.second:
                    again.append(job)
                else:
                    yield job, result
    finally:
        for worker in crew:
            worker.child.end()


class _Ahead(Generic[J]):
    """Jobs of which the next one is known to be there, since they may be made as they are taken."""

    def __init__(self, jobs: Iterable[J]) -> None:
        self._jobs = iter(jobs)
        self._next = deque[J](islice(self._jobs, 1))

    def __bool__(self) -> bool:
        return bool(self._next)

    def take(self) -> J:
        job = self._next.popleft()
        self._next.extend(islice(self._jobs, 1))
        return job


def _busy(crew: list[_Worker[J]]) -> list[_Worker[J]]:
    return [worker for worker in crew if worker.job is not None]


def _idle(crew: list[_Worker[J]], work: Callable[[J], R]) -> _Worker[J]:
    """A process without a job, a new one if need be."""
    for worker in crew:
        if worker.job is None:
            return worker
    worker = _Worker[J](Child(work))
    crew.append(worker)
    return worker


def _hand(worker: _Worker[J], job: J, second: bool = False) -> None:
    worker.job, worker.began, worker.second = job, time.monotonic(), second
    worker.child.hand(job)


def _ended(crew: list[_Worker[J]], limit: float) -> Iterator[tuple[_Worker[J], Any]]:
    """Those that brought something back, died or hung, with what came of their jobs; those that are gone leave."""
    busy = _busy(crew)
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
        if isinstance(result, Lost):
            crew.remove(worker)
            worker.child.end()
        yield worker, result
