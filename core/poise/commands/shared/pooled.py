"""Shots worked on in processes: what goes wrong with one is reported, and costs no other."""

from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Protocol, TypeVar

from poise.batch.pool import in_order
from poise.batch.worker_process import LostJob
from poise.commands.shared.output import Report
from poise.frames.shots import Problem


class Job(Protocol):
    """Work on a shot, which `path` names."""

    @property
    def path(self) -> Path: ...


J = TypeVar("J", bound=Job)
R = TypeVar("R")


def done(
    work: Callable[[J], R | Problem], jobs: Sequence[J], workers: int, limit: float, report: Report
) -> Iterator[tuple[J, R]]:
    """The jobs that could be done, each with its result, in order; the others are reported.

    Args:
        work: importable by name; returns a `Problem` instead of raising.
        workers: the largest number of processes.
        limit: seconds that a job may take.

    Raises:
        KeyboardInterrupt: as `poise.batch.pool.in_order`.

    Example:
        for job, result in done(matched_or_not, jobs, 2, 600, report): ...
    """
    for job, result in in_order(work, jobs, workers, limit):
        if isinstance(result, LostJob):
            report.fault(job.path, result.reason)
        elif isinstance(result, Problem):
            report.fault(*result)
        else:
            yield job, result
