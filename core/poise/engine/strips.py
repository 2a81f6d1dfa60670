"""Runs strips of a picture in threads; a single thread is the caller's own, which is faster for a small picture."""

from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Executor, ThreadPoolExecutor
from typing import Any, TypeVar

T = TypeVar("T")


class Inline(Executor):
    """Runs the work in the calling thread."""

    def map(self, fn: Callable[..., Any], *iterables: Iterable[Any], **_: Any) -> Iterator[Any]:
        return map(fn, *iterables)


def strips(work: Callable[[slice], object], height: int, rows: int, pool: Executor) -> None:
    """Run the work for every strip of `rows` rows; the last slice may extend beyond `height`."""
    for _ in pool.map(work, (slice(top, top + rows) for top in range(0, height, rows))):
        pass


def pool_of(threads: int) -> Executor:
    """An executor with a number of threads, as a context manager.

    Example:
        >>> with pool_of(1) as pool:
        ...     list(pool.map(abs, [-1, 2]))
        [1, 2]
    """
    return ThreadPoolExecutor(threads) if threads > 1 else Inline()


def ahead(items: Iterator[T]) -> Iterator[T]:
    """The items of an iterator in their order, each next one made in a thread while the caller uses the one before.

    Example:
        >>> list(ahead(iter([1, 2])))
        [1, 2]
    """
    end: Any = object()
    with ThreadPoolExecutor(1) as pool:
        coming = pool.submit(next, items, end)
        while (item := coming.result()) is not end:
            coming = pool.submit(next, items, end)
            yield item
