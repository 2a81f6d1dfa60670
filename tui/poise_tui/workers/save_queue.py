"""The keeper: hands what is decided to the thread that saves, takes in how that went, and tells each fault once."""

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
        saved: called in the thread that saves, whenever there is something for `take`.
        say: one line to the user, and whether it is a warning.
    """

    def __init__(self, session: Session, saved: Callable[[], None], say: Callable[[str, bool], None]) -> None:
        self._session, self._saved, self._say = session, saved, say
        self._faulty: set[int] = set()
        self._saver = Saver(saved)

    def tick(self) -> None:
        """Hands over what is due."""
        for index in self._session.due():
            self._saver.do(self._session.job(index))

    def take(self) -> list[Outcome]:
        """Takes in how saves went; a fault that is new is told."""
        outcomes = self._settle()
        for outcome in outcomes:
            if outcome.fault and outcome.index not in self._faulty:
                self._say(CONFLICT if isinstance(outcome.fault, SidecarConflict) else str(outcome.fault), True)
        told = self._faulty | {outcome.index for outcome in outcomes}
        slots = self._session.slots
        self._faulty = {index for index in told if slots[index].unsaved and slots[index].fault}
        return outcomes

    def close(self) -> list[PoiseError]:
        """Everything on disk, as far as it can be; what could not be saved."""
        self._saver.end()
        self._settle()
        return list(self._session.save_all())

    def reopen(self) -> None:
        """Goes on after all, where something could not be saved."""
        self._saver = Saver(self._saved)

    def _settle(self) -> list[Outcome]:
        outcomes = self._saver.outcomes()
        for outcome in outcomes:
            self._session.finish(outcome)
        return outcomes
