"""Running: the run of the sequence in hand at its table, from sketches, renewed whenever the correction changes."""

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
"""Seconds between two pictures of a run of which more frames are being read."""


@dataclass(frozen=True)
class Asked:
    """All that a run follows from, but for how many of its frames were read."""

    files: tuple[Path, ...]
    correction: Correction
    encoding: Encoding


@dataclass(frozen=True)
class Made:
    """A run, or why there is none."""

    asked: Asked
    result: Run | Exception


class Running:
    """Keeps the run of one session's shot in hand.

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
        self._made: Made | None = None
        self._fresh = self._untold = False
        self._told = 0.0
        self._sketching = SequenceReader(loader)
        self._worker = Latest("run", lambda made: later(self._take, made))

    def want(self) -> None:
        """Asks for the run of the shot in hand, where its table is open; elsewhere reading pauses."""
        session, slot = self._session, self._session.slot
        if session.hand.mode != "drift" or not slot.shot.numbers:
            self._sketching.want(None)
            if self._asked and self._asked.files != slot.shot.files:
                self._forget()
            return
        self._sketching.want(slot.shot)
        correction = NEUTRAL if session.before else slot.decision.correction
        asked = Asked(slot.shot.files, correction, slot.located)
        if self._asked and self._asked.files != asked.files:
            self._forget()
        if asked != self._asked or self._fresh:
            book = self._sketching.book
            assert book is not None
            self._asked, self._fresh = asked, False
            made = self._made
            before = made.result if made and made.asked == asked and isinstance(made.result, Run) else None
            self._worker.do(lambda: _made(asked, book, before))

    def renew(self, file: Path) -> None:
        """A file was replaced."""
        self._sketching.renew(file)
        self._fresh = True

    @property
    def reading(self) -> bool:
        """Whether frames are being read."""
        return self._sketching.reading

    def tick(self) -> None:
        """Takes in what was read."""
        if self._sketching.take():
            self._fresh = self._untold = True
        if self._untold and (not self.reading or time.monotonic() - self._told >= REPORTED):
            self._untold, self._told = False, time.monotonic()
            self._changed()

    def end(self) -> None:
        """Stops the thread."""
        self._worker.end()

    def _take(self, made: Made) -> None:
        slot = self._session.slot
        if self._asked is None or not made.asked.files == self._asked.files == slot.shot.files:
            return
        self._made = made
        if isinstance(made.result, Exception):
            self.run, self.fault = None, in_words(made.result)
        else:
            self.run, self.fault = made.result, None
            slot.standing_out = made.result.standing_out
        self._changed()

    def _forget(self) -> None:
        self.run = self.fault = self._asked = self._made = None


def _made(asked: Asked, book: Book, before: Run | None) -> Made:
    try:
        return Made(asked, run(book, asked.correction, asked.encoding, before))
    except Exception as fault:  # told in place of the run
        return Made(asked, fault)
