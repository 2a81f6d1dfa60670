"""The thread that writes sidecars."""

import contextlib
import queue
import threading
from collections.abc import Callable

from poise_tui.session.save import Job, Outcome, failed, write

PATIENCE = 10.0
"""Seconds within which at least one save must finish while the program waits to end."""


class Saver:
    """A thread that writes sidecars one after the other.

    Args:
        report: called in that thread whenever there is an outcome to take.
    """

    def __init__(self, report: Callable[[], None]) -> None:
        self._report = report
        self._jobs: queue.SimpleQueue[Job | None] = queue.SimpleQueue()
        self._outcomes: queue.SimpleQueue[Outcome] = queue.SimpleQueue()
        self._thread = threading.Thread(target=self._run, daemon=True, name="poise-save")
        self._thread.start()

    def do(self, job: Job) -> None:
        """Hands over a job."""
        self._jobs.put(job)

    def outcomes(self) -> list[Outcome]:
        """The outcomes since the last call."""
        found = []
        with contextlib.suppress(queue.Empty):
            while True:
                found.append(self._outcomes.get_nowait())
        return found

    def end(self) -> None:
        """Waits until all jobs are done, as long as there is any progress."""
        self._jobs.put(None)
        left = -1
        while self._thread.is_alive() and self._jobs.qsize() != left:
            left = self._jobs.qsize()
            self._thread.join(PATIENCE)

    def _run(self) -> None:
        while (job := self._jobs.get()) is not None:
            try:
                outcome = write(job)
            except Exception as fault:  # any other exception is reported, and the save is tried again
                outcome = failed(job, fault)
            self._outcomes.put(outcome)
            with contextlib.suppress(Exception):  # the app may have closed
                self._report()
