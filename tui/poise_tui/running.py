"""Running: the run of the sequence in hand at its table, from sketches, renewed whenever the correction changes."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from poise.correction import NEUTRAL, Correction, Encoding
from poise.errors import PoiseError
from poise_tui.background import Latest
from poise_tui.session import Session
from poise_tui.sketching import Book, Sketcher
from poise_tui.view.drift import Run, run


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
        clear: whether no picture is being read that is more urgent; it may be asked in any thread.
        later: hands a call over to the thread that answers keys.
        changed: called when there is something new to draw.
    """

    def __init__(
        self, session: Session, clear: Callable[[], bool], later: Callable[..., None], changed: Callable[[], None]
    ) -> None:
        self.run: Run | None = None
        self.fault: str | None = None
        self._session, self._changed = session, changed
        self._asked: Asked | None = None
        self._made: Made | None = None
        self._fresh = False
        self._sketcher = Sketcher(lambda: later(self._more), clear)
        self._worker = Latest("run", lambda made: later(self._take, made))

    def want(self) -> None:
        """Asks for the run of the shot in hand, where its table is open; elsewhere reading pauses."""
        session, slot = self._session, self._session.slot
        if session.hand.mode != "drift" or not slot.shot.numbers:
            self._sketcher.want(None)
            if self._asked and self._asked.files != slot.shot.files:
                self._forget()
            return
        self._sketcher.want(slot.shot)
        correction = NEUTRAL if session.before else slot.decision.correction
        asked = Asked(slot.shot.files, correction, slot.encoding)
        if self._asked and self._asked.files != asked.files:
            self._forget()
        book = self._sketcher.book
        if book is not None and (asked != self._asked or self._fresh):
            self._asked, self._fresh = asked, False
            made = self._made
            before = made.result if made and made.asked == asked and isinstance(made.result, Run) else None
            self._worker.do(lambda: _made(asked, book, before))

    def renew(self, file: Path) -> None:
        """A file was replaced."""
        self._sketcher.renew([file])
        self._made, self._fresh = None, True

    def end(self) -> None:
        """Stops the threads."""
        self._sketcher.end()
        self._worker.end()

    def _more(self) -> None:
        self._fresh = True
        self._changed()

    def _take(self, made: Made) -> None:
        if self._asked is None or made.asked.files != self._asked.files:
            return
        self._made = made
        if isinstance(made.result, Exception):
            self.run, self.fault = None, str(made.result)
        else:
            self.run, self.fault = made.result, None
            self._session.slot.standing_out = made.result.standing_out
        self._changed()

    def _forget(self) -> None:
        self.run = self.fault = self._asked = self._made = None


def _made(asked: Asked, book: Book, before: Run | None) -> Made:
    try:
        return Made(asked, run(book, asked.correction, asked.encoding, before))
    except PoiseError as fault:
        return Made(asked, fault)
