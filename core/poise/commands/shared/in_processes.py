"""Shots are worked on by processes, told in their order, and one whose process crashes or hangs costs only itself."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from pathlib import Path
from typing import TypeVar

from poise.batch.pool import processes
from poise.batch.stop import stoppable
from poise.batch.worker_process import Lost
from poise.errors import FileError, why_not
from poise.frames.shots import Problem

J = TypeVar("J")
R = TypeVar("R")


def in_processes(
    work: Callable[[J], R], jobs: Sequence[J], workers: int, limit: float
) -> Iterator[tuple[J, R | Problem | Lost]]:
    """Each job with its result, in the order of the jobs.

    One job alone is done in this process: there is nothing beside it to lose, and a process takes a while to start.

    Args:
        work: importable by name; jobs and results are pickled.
        workers: processes at most.
        limit: seconds that a job may take.

    Raises:
        KeyboardInterrupt: it was asked to end; what had begun was finished.
    """
    if len(jobs) < 2:
        for job in jobs:
            yield job, work(job)
        return
    with stoppable() as stop:
        yield from _in_order(jobs, processes(work, jobs, min(workers, len(jobs)), stop, limit))
    if stop.asked:
        raise KeyboardInterrupt


def _in_order(jobs: Sequence[J], results: Iterable[tuple[J, R]]) -> Iterator[tuple[J, R]]:
    places = {id(job): place for place, job in enumerate(jobs)}
    there: dict[int, R] = {}
    told = 0
    for job, result in results:
        there[places[id(job)]] = result
        while told in there:
            yield jobs[told], there.pop(told)
            told += 1
    for place in sorted(there):  # it was asked to end
        yield jobs[place], there[place]


def problem(path: Path, fault: Exception) -> Problem:
    """What is told of a shot that could not be done, in a form that goes from process to process.

    Args:
        path: of the shot.

    Example:
        >>> problem(Path("quay_02.tif"), FileError("quay_02.tif.poise.json", "the sidecar is empty")).reason
        'the sidecar is empty'
    """
    if isinstance(fault, FileError):
        return Problem(fault.path, fault.reason)
    return Problem(path, why_not(path, fault))
