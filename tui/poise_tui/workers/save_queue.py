"""Passes decisions to the thread that saves, takes the outcomes, and reports each fault once."""

from collections.abc import Callable

from poise.errors import PoiseError
from poise.sidecar import SidecarConflict
from poise_tui.session.save import Outcome
from poise_tui.session.session import Session
from poise_tui.workers.saver import Saver

CONFLICT = "changed by somebody else: :mine keeps yours, :theirs takes theirs; either way both versions are kept"


class SaveQueue:
    """Saves for one session.

    Args:
        saved: called in the thread that saves, whenever there is an outcome to `take`.
        say: shows one line to the user; the flag marks a warning.
    """

    def __init__(self, session: Session, saved: Callable[[], None], say: Callable[[str, bool], None]) -> None:
        self._session, self._saved, self._say = session, saved, say
        self._faulty: set[int] = set()
        self._saver = Saver(saved)

    def tick(self) -> None:
        """Starts the saves that are due."""
        for index in self._session.due():
            self._saver.do(self._session.job(index))

    def take(self) -> list[Outcome]:
        """Takes the outcomes of saves, and reports new faults."""
        outcomes = self._settle()
        for outcome in outcomes:
            if outcome.fault and outcome.index not in self._faulty:
                self._say(CONFLICT if isinstance(outcome.fault, SidecarConflict) else str(outcome.fault), True)
        reported = self._faulty | {outcome.index for outcome in outcomes}
        slots = self._session.slots
        self._faulty = {index for index in reported if slots[index].unsaved and slots[index].fault}
        return outcomes

    def close(self) -> list[PoiseError]:
        """Saves everything as far as possible; returns the faults."""
        self._saver.end()
        self._settle()
        return list(self._session.save_all())

    def reopen(self) -> None:
        """Starts again, if the program goes on because something could not be saved."""
        self._saver = Saver(self._saved)

    def _settle(self) -> list[Outcome]:
        outcomes = self._saver.outcomes()
        for outcome in outcomes:
            self._session.finish(outcome)
        return outcomes
