"""A thread that runs only the newest job."""

import contextlib
import threading
from collections.abc import Callable
from typing import Any


class Latest:
    """A thread that runs the newest job; an older one that has not started is dropped.

    Args:
        report: called in that thread with what a job returned, or with what it raised.
    """

    def __init__(self, name: str, report: Callable[[Any], None]) -> None:
        self._report = report
        self._job: Callable[[], Any] | None = None
        self._ready = threading.Condition()
        self._ended = False
        self.busy = False
        threading.Thread(target=self._run, daemon=True, name=f"poise-{name}").start()

    def do(self, job: Callable[[], Any]) -> None:
        """Hands over a job."""
        with self._ready:
            self._job, self.busy = job, True
            self._ready.notify()

    def drop(self) -> None:
        """Drops a job that has not started."""
        with self._ready:
            self._job = None

    def end(self) -> None:
        """Stops after the present job."""
        with self._ready:
            self._ended = True
            self._ready.notify()

    def _run(self) -> None:
        while True:
            with self._ready:
                while self._job is None and not self._ended:
                    self.busy = False
                    self._ready.wait()
                if self._ended:
                    return
                job, self._job = self._job, None
            assert job is not None
            try:
                result = job()
            except Exception as fault:  # reported by whoever asked for the job
                result = fault
            with contextlib.suppress(Exception):  # the app may have closed
                self._report(result)
