"""A pool of spawned processes that knows which of them is at which job, so that one that dies or hangs costs only that.

A job whose process died is done once more, alone, when all else is done: what killed it may have been the whole
machine's lack of memory. One that takes longer than it may is not tried again.
"""

import contextlib
import multiprocessing
import os
import signal
import threading
import time
import warnings
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from itertools import islice
from multiprocessing.connection import Connection, wait
from multiprocessing.process import BaseProcess
from typing import Any, Generic, TypeVar

from poise.batch.stop import Stop

J = TypeVar("J")
R = TypeVar("R")

LIMIT = 600.0
"""Seconds that a frame may take."""
_LOOK = 0.2
"""Seconds between looks at the clock and at whether the run was asked to end."""


@dataclass(frozen=True)
class Lost:
    """A job that its process did not bring back.

    Attributes:
        again: whether it may be tried once more.
    """

    reason: str
    again: bool = False


@dataclass
class _Worker(Generic[J]):
    """One process, the end of its pipe that is here, and what it is at."""

    process: BaseProcess
    pipe: "Connection[Any, Any]"
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
            _end(worker)


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
    context = multiprocessing.get_context("spawn")
    here, there = context.Pipe()
    process = context.Process(target=_serve, args=(there, work), daemon=True, name="poise-batch")
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT, signal.SIGHUP})
    try:
        process.start()  # it leaves Ctrl-C to its parent, from its first moment on
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
    there.close()
    worker = _Worker[J](process, here)
    crew.append(worker)
    return worker


def _hand(worker: _Worker[J], job: J, second: bool = False) -> None:
    worker.job, worker.began, worker.second = job, time.monotonic(), second
    with contextlib.suppress(OSError):  # a process that died in between is found out below
        worker.pipe.send(job)


def _ended(crew: list[_Worker[J]], limit: float) -> Iterator[tuple[_Worker[J], Any]]:
    """Those that brought something back, died or hung, with what came of their jobs; those that are gone leave."""
    busy = _busy(crew)
    until = min(worker.began + limit for worker in busy) - time.monotonic()
    wait([worker.pipe for worker in busy], max(0.0, min(until, _LOOK)))
    now = time.monotonic()
    for worker in busy:
        try:
            if worker.pipe.poll():
                yield worker, worker.pipe.recv()
                continue
        except (EOFError, OSError):
            crew.remove(worker)
            worker.process.join(5)
            yield worker, Lost(f"the process that worked on it was ended by {_how(worker.process)}", again=True)
            continue
        if now - worker.began > limit:
            crew.remove(worker)
            _end(worker)
            yield worker, Lost(f"it took longer than {limit:g} s and was given up; allow more by --time-limit")


def _how(process: BaseProcess) -> str:
    code = process.exitcode
    if code is None or code >= 0:
        return f"itself, with code {code}"
    try:
        name = signal.Signals(-code).name
    except ValueError:
        name = f"signal {-code}"
    return f"{name} (out of memory?)" if name == "SIGKILL" else f"{name}, a fault in a codec"


def _end(worker: _Worker[J]) -> None:
    """Ends a process, whatever it is at."""
    worker.pipe.close()
    if worker.job is not None:
        worker.process.kill()
    worker.process.join(5)
    if worker.process.is_alive():
        worker.process.kill()
        worker.process.join(5)


def _serve(pipe: "Connection[Any, Any]", work: Callable[[Any], Any]) -> None:
    """In the process: one job after the other, until the other end of the pipe is gone."""
    signal.pthread_sigmask(signal.SIG_UNBLOCK, {signal.SIGINT, signal.SIGHUP})
    for number in (signal.SIGINT, signal.SIGHUP):
        signal.signal(number, signal.SIG_IGN)
    warnings.simplefilter("ignore")  # what libraries say to programmers is no use to users
    parent = multiprocessing.parent_process()
    if parent is not None:
        threading.Thread(target=_end_with, args=(parent,), daemon=True).start()
    while True:
        try:
            job = pipe.recv()
        except (EOFError, OSError):
            return
        pipe.send(work(job))


def _end_with(parent: BaseProcess) -> None:
    """A worker ends when its parent is killed."""
    parent.join()
    os._exit(1)
