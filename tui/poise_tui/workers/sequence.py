"""The run of the current sequence in drift mode, from samples, measured again whenever the correction changes."""

import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from poise.correction import NEUTRAL, Correction, Encoding
from poise.errors import in_words
from poise_tui.measure.book import Book
from poise_tui.measure.sequence import Run, run
from poise_tui.session.session import Session
from poise_tui.workers.loader import Loader
from poise_tui.workers.sequence_reader import SequenceReader
from poise_tui.workers.thread import Latest

REPORTED = 0.15
"""Seconds between two redraws of a run while its frames are being read."""


@dataclass(frozen=True)
class Asked:
    """Everything that determines a run, except how many of its frames were read."""

    files: tuple[Path, ...]
    correction: Correction
    encoding: Encoding


@dataclass(frozen=True)
class RunResult:
    """A run, or the exception that it raised."""

    asked: Asked
    result: Run | Exception


class SequenceWorker:
    """Keeps the run of a session's current shot.

    Args:
        loader: reads the frames.
        later: hands a call over to the thread that answers keys.
        changed: called when there is something new to draw.
    """

    def __init__(
        self, session: Session, loader: Loader, later: Callable[..., None], changed: Callable[[], None]
    ) -> None:
        self.run: Run | None = None
        self.fault: str | None = None
        self._session, self._changed = session, changed
        self._asked: Asked | None = None
        self._result: RunResult | None = None
        self._fresh = self._unreported = False
        self._reported = 0.0
        self._reader = SequenceReader(loader)
        self._worker = Latest("run", lambda result: later(self._take, result))

    def want(self) -> None:
        """Asks for the run of the current shot in drift mode; in other modes reading pauses."""
        session, slot = self._session, self._session.slot
        if session.hand.mode != "drift" or not slot.shot.numbers:
            self._reader.want(None)
            if self._asked and self._asked.files != slot.shot.files:
                self._forget()
            return
        self._reader.want(slot.shot)
        correction = NEUTRAL if session.before else slot.decision.correction
        asked = Asked(slot.shot.files, correction, slot.resolved_encoding)
        if self._asked and self._asked.files != asked.files:
            self._forget()
        if asked != self._asked or self._fresh:
            book = self._reader.book
            assert book is not None
            self._asked, self._fresh = asked, False
            last = self._result
            before = last.result if last and last.asked == asked and isinstance(last.result, Run) else None
            self._worker.do(lambda: _measure(asked, book, before))

    def renew(self, file: Path) -> None:
        """Reads a file that was replaced again."""
        self._reader.renew(file)
        self._fresh = True

    @property
    def reading(self) -> bool:
        """Whether frames are being read."""
        return self._reader.reading

    def tick(self) -> None:
        """Takes what was read."""
        if self._reader.take():
            self._fresh = self._unreported = True
        if self._unreported and (not self.reading or time.monotonic() - self._reported >= REPORTED):
            self._unreported, self._reported = False, time.monotonic()
            self._changed()

    def end(self) -> None:
        """Stops the thread."""
        self._worker.end()

    def _take(self, result: RunResult) -> None:
        slot = self._session.slot
        if self._asked is None or not result.asked.files == self._asked.files == slot.shot.files:
            return
        self._result = result
        if isinstance(result.result, Exception):
            self.run, self.fault = None, in_words(result.result)
        else:
            self.run, self.fault = result.result, None
            slot.abrupt = result.result.abrupt
        self._changed()

    def _forget(self) -> None:
        self.run = self.fault = self._asked = self._result = None


def _measure(asked: Asked, book: Book, before: Run | None) -> RunResult:
    try:
        return RunResult(asked, run(book, asked.correction, asked.encoding, before))
    except Exception as fault:  # shown in place of the run
        return RunResult(asked, fault)
