"""Threads for strips of a picture; one thread is the caller's own, which a small picture is done in sooner."""

from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Executor, ThreadPoolExecutor
from typing import Any


class Alone(Executor):
    """Does the work in the thread that asks for it."""

    def map(self, fn: Callable[..., Any], *iterables: Iterable[Any], **_: Any) -> Iterator[Any]:
        return map(fn, *iterables)


def strips(work: Callable[[slice], object], height: int, rows: int, pool: Executor) -> None:
    """Does the work for every strip of so many rows; the last may go beyond the height, as slices may."""
    for _ in pool.map(work, (slice(top, top + rows) for top in range(0, height, rows))):
        pass


def pool_of(threads: int) -> Executor:
    """An executor of so many threads, to be left when the work is done.

    Example:
        >>> with pool_of(1) as pool:
        ...     list(pool.map(abs, [-1, 2]))
        [1, 2]
    """
    return ThreadPoolExecutor(threads) if threads > 1 else Alone()
