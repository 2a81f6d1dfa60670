"""The thread that writes sidecars."""

import contextlib
import queue
import threading
from collections.abc import Callable

from poise_tui.session.save import Job, Outcome, write

PATIENCE = 10.0
"""Seconds in which at least one save must be done, where the end of the program waits for many."""


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
        """Hand over a job."""
        self._jobs.put(job)

    def outcomes(self) -> list[Outcome]:
        """How the jobs went that were done since this was last asked."""
        found = []
        with contextlib.suppress(queue.Empty):
            while True:
                found.append(self._outcomes.get_nowait())
        return found

    def end(self) -> None:
        """Waits until all that was handed over is written, as long as any of it still gets done."""
        self._jobs.put(None)
        left = -1
        while self._thread.is_alive() and self._jobs.qsize() != left:
            left = self._jobs.qsize()
            self._thread.join(PATIENCE)

    def _run(self) -> None:
        while (job := self._jobs.get()) is not None:
            self._outcomes.put(write(job))
            self._report()
