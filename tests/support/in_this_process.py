"""Frames worked on in this process: each process of a batch takes a second to start, and is on trial elsewhere."""

import pickle
from collections.abc import Callable, Iterable, Iterator
from typing import TypeVar

from poise.batch.stop import Stop

J = TypeVar("J")
R = TypeVar("R")
USERS = ("poise.batch.run", "poise.batch.pool")
"""The modules that call `poise.batch.pool.as_completed`."""


def one_by_one(
    work: Callable[[J], R], jobs: Iterable[J], workers: int, stop: Stop, limit: float = 0.0
) -> Iterator[tuple[J, R]]:
    """In the place of `as_completed`; what crosses to a process and back is pickled here as well."""
    for job in jobs:
        if stop.asked:
            return
        yield job, pickle.loads(pickle.dumps(work(pickle.loads(pickle.dumps(job)))))
