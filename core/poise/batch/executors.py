"""Where jobs run: spawned processes, a bounded number in flight; a process that dies costs its own frame only."""

import multiprocessing
import os
import signal
import threading
import warnings
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from itertools import islice
from multiprocessing.process import BaseProcess
from typing import TypeVar

J = TypeVar("J")

DIED = "the process that worked on it died (out of memory, or a fault in a codec); the others went on"


def processes(work: Callable[[J], str | None], jobs: Iterable[J], workers: int) -> Iterator[tuple[J, str | None]]:
    """Runs jobs in spawned processes and yields each with its result as it ends.

    When a process dies, what was in flight is tried again one by one, so that the culprit is known. When the caller
    stops (Ctrl-C), what has begun is finished and nothing else is started.

    Args:
        work: importable by name; returns None or why it failed.
        workers: processes, 1 or more; one job more than these is in flight.

    Example:
        for job, reason in processes(do, plan.jobs, 2): ...
    """
    waiting = iter(jobs)
    pool = _pool(workers)
    flying: dict[Future[str | None], J] = {}
    try:
        while True:
            suspects: list[J] = []
            try:
                for job in islice(waiting, workers + 1 - len(flying)):
                    suspects = [job]
                    flying[_submit(pool, work, job)] = job
                    suspects = []
            except BrokenProcessPool:
                pass  # the futures in flight tell the same below
            if not flying and not suspects:
                return
            for future in wait(flying, return_when=FIRST_COMPLETED).done:
                if isinstance(future.exception(), BrokenProcessPool):
                    break
                yield flying.pop(future), future.result()
            else:
                if not suspects:
                    continue
            suspects = [*flying.values(), *suspects]
            flying.clear()
            pool.shutdown()
            for job in suspects:
                yield job, _alone(work, job)
            pool = _pool(workers)
    finally:
        pool.shutdown(cancel_futures=True)


def _alone(work: Callable[[J], str | None], job: J) -> str | None:
    with _pool(1) as pool:
        try:
            return _submit(pool, work, job).result()
        except BrokenProcessPool:
            return DIED


def _submit(pool: ProcessPoolExecutor, work: Callable[[J], str | None], job: J) -> "Future[str | None]":
    """Submits a job; processes that this starts leave Ctrl-C to their parent, from their first moment on."""
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        return pool.submit(work, job)
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _pool(workers: int) -> ProcessPoolExecutor:
    context = multiprocessing.get_context("spawn")
    return ProcessPoolExecutor(workers, mp_context=context, initializer=_begin)


def _begin() -> None:
    """A worker ends when its parent is killed."""
    warnings.simplefilter("ignore")  # what libraries say to programmers is no use to users
    parent = multiprocessing.parent_process()
    if parent is not None:
        threading.Thread(target=_end_with, args=(parent,), daemon=True).start()


def _end_with(parent: BaseProcess) -> None:
    parent.join()
    os._exit(1)
