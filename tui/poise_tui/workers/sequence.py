"""The run of the current sequence in drift mode, from samples, measured again whenever the correction changes."""

import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from msgspec.structs import replace

from poise.commands.steadying import Steadied
from poise.correction import Encoding
from poise.errors import PoiseError, in_words
from poise.invocation import program_name
from poise.sidecar.decision import UNDECIDED, Decision
from poise_tui.measure.book import Book
from poise_tui.measure.sequence import Run, run
from poise_tui.measure.steady import steady
from poise_tui.session.session import Session
from poise_tui.workers.loader import Loader
from poise_tui.workers.sequence_reader import SequenceReader
from poise_tui.workers.thread import Answer, Latest

REPORTED = 0.15
"""Seconds between two redraws of a run while its frames are being read."""


CAUTION = "no test for photosensitive viewers"


@dataclass(frozen=True)
class Asked:
    """Everything that determines a run, except how many of its frames were read."""

    files: tuple[Path, ...]
    decision: Decision
    encoding: Encoding
    before: bool

    def as_before(self, other: "Asked") -> bool:
        """Whether another run has the same levels."""
        same = (self.files, self.encoding, self.before) == (other.files, other.encoding, other.before)
        return same and (self.before or self.decision.corrects_as(other.decision))


class SequenceWorker:
    """Keeps the run of a session's current shot.

    Args:
        loader: reads the frames.
        later: hands a call over to the thread that answers keys.
        changed: called when there is something new to draw.
        say: shows one line to the user, as a warning or not.
    """

    def __init__(
        self,
        session: Session,
        loader: Loader,
        later: Callable[..., None],
        changed: Callable[[], None],
        say: Callable[[str, bool], None],
    ) -> None:
        self.run: Run | None = None
        self.fault: str | None = None
        self._session, self._changed, self._say = session, changed, say
        self._asked: Asked | None = None
        self._run: tuple[Asked, Run] | None = None
        self._fresh = self._unreported = False
        self._reported = 0.0
        self._reader = SequenceReader(loader)
        self._worker: Latest[Asked, Run] = Latest("run", lambda made: later(self._take, made))
        self._steadier: Latest[tuple[int, Decision], Steadied] = Latest(
            "steady", lambda made: later(self._take_steady, made)
        )

    def want(self) -> None:
        """Asks for the run of the current shot in drift mode; in other modes reading pauses."""
        session, slot = self._session, self._session.slot
        if session.hand.mode != "drift" or not slot.shot.numbers:
            self._reader.want(None)
            if self._asked and self._asked.files != slot.shot.files:
                self._forget()
            return
        self._reader.want(slot.shot)
        asked = Asked(slot.shot.files, slot.history.present, slot.resolved_encoding, session.before)
        if self._asked and self._asked.files != asked.files:
            self._forget()
        if self._asked is None or not asked.as_before(self._asked) or self._fresh:
            book = self._reader.book
            assert book is not None
            self._asked, self._fresh = asked, False
            last = self._run
            before = last[1] if last and asked.as_before(last[0]) else None
            self._worker.do(asked, lambda asked: _measure(asked, book, before))

    def renew(self, file: Path) -> None:
        """Reads a file that was replaced again."""
        self._reader.renew(file)
        self._fresh = True

    @property
    def reading(self) -> bool:
        """Whether frames are being read."""
        return self._reader.reading

    def steady(self) -> None:
        """Finds the steady values of the current sequence, or takes them away if it has some.

        Raises:
            PoiseError: the shot is a still, or not all of its frames are read.
        """
        session, slot = self._session, self._session.slot
        if slot.decision.steady is not None:
            session.decide(replace(slot.decision, steady=None))
            self._say("its steady values are gone; undo brings them back", False)
            return
        book = self._reader.book
        if not slot.shot.numbers or book is None:
            raise PoiseError("this shot is a still")
        if len(book.places) < len(slot.shot.files):
            raise PoiseError(f"too many frames to read here; run {program_name()} steady on them")
        if not book.whole:
            raise PoiseError("its frames are still being read")
        index, decision, encoding = session.index, slot.history.present, slot.resolved_encoding
        corrections = [decision.decided(number) for number in slot.shot.numbers]
        self._say("steadying ...", False)
        self._steadier.do((index, decision), lambda _: steady(book, corrections, encoding))

    def _take_steady(self, made: Answer[tuple[int, Decision], Steadied]) -> None:
        (index, decision), result = made.asked, made.found
        if isinstance(result, Exception):
            self._say(in_words(result), True)
            return
        slot = self._session.slots[index]
        if slot.history.present is not decision:
            self._say(f"{slot.shot.name} was changed meanwhile; its steady values were dropped", True)
        elif result.steady is None or result.before is None or result.after is None:
            self._say("nothing to steady", False)
        else:
            self._session.decide(replace(slot.decision, steady=result.steady), index)
            not_helped = f"; not helped: {len(result.not_helped)} frames" if result.not_helped else ""
            self._say(f"flicker {result.before.rms:.2f} -> {result.after.rms:.2f} % rms{not_helped}; {CAUTION}", False)
        self._changed()

    def tick(self) -> None:
        """Takes what was read."""
        if self._reader.take():
            self._fresh = self._unreported = True
        if self._unreported and (not self.reading or time.monotonic() - self._reported >= REPORTED):
            self._unreported, self._reported = False, time.monotonic()
            self._changed()

    def end(self) -> None:
        """Stops the threads."""
        self._worker.end()
        self._steadier.end()

    def _take(self, made: Answer[Asked, Run]) -> None:
        slot = self._session.slot
        if self._asked is None or not made.asked.files == self._asked.files == slot.shot.files:
            return
        if isinstance(made.found, Exception):
            self.run, self.fault, self._run = None, in_words(made.found), None
        else:
            self.run, self.fault, self._run = made.found, None, (made.asked, made.found)
            slot.abrupt = made.found.abrupt
        self._changed()

    def _forget(self) -> None:
        self.run = self.fault = self._asked = self._run = None


def _measure(asked: Asked, book: Book, before: Run | None) -> Run:
    return run(book, UNDECIDED if asked.before else asked.decision, asked.encoding, before)
