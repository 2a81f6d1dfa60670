"""A thread that answers only the newest request."""

import contextlib
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Generic, TypeVar

Asked = TypeVar("Asked")
Found = TypeVar("Found")


@dataclass(frozen=True)
class Answer(Generic[Asked, Found]):
    """What came of a request.

    Attributes:
        asked: the request.
        found: the result, or the exception that was raised instead.
        seconds: how long it took.
    """

    asked: Asked
    found: Found | Exception
    seconds: float = 0.0


def answer(asked: Asked, job: Callable[[Asked], Found]) -> Answer[Asked, Found]:
    """Does a job for a request; an exception becomes part of the answer.

    Example:
        >>> answer("9", int).found
        9
    """
    began = time.perf_counter()
    try:
        found: Found | Exception = job(asked)
    except Exception as fault:  # reported by whoever asked
        found = fault
    return Answer(asked, found, time.perf_counter() - began)


class Latest(Generic[Asked, Found]):
    """A thread that answers the newest request; an older one that has not started is dropped.

    Args:
        report: called in that thread with each answer.
    """

    def __init__(self, name: str, report: Callable[[Answer[Asked, Found]], None]) -> None:
        self._report = report
        self._request: tuple[Asked, Callable[[Asked], Found]] | None = None
        self._ready = threading.Condition()
        self._ended = False
        self.busy = False
        threading.Thread(target=self._run, daemon=True, name=f"poise-{name}").start()

    def do(self, asked: Asked, job: Callable[[Asked], Found]) -> None:
        """Hands over a request, and the job that answers it."""
        with self._ready:
            self._request, self.busy = (asked, job), True
            self._ready.notify()

    def drop(self) -> None:
        """Drops a request that has not started."""
        with self._ready:
            self._request = None

    def end(self) -> None:
        """Stops after the present job."""
        with self._ready:
            self._ended = True
            self._ready.notify()

    def _run(self) -> None:
        while True:
            with self._ready:
                while self._request is None and not self._ended:
                    self.busy = False
                    self._ready.wait()
                if self._ended:
                    return
                request, self._request = self._request, None
            assert request is not None
            result = answer(*request)
            with contextlib.suppress(Exception):  # the app may have closed
                self._report(result)
