"""The pictures in memory: the current one, the one it is compared with, and their neighbours, read ahead."""

from collections.abc import Callable
from pathlib import Path

from poise_tui.compare.target import other
from poise_tui.measure.loaded import Loaded
from poise_tui.measure.scrub import Scrubbed
from poise_tui.session.session import Session
from poise_tui.workers.loader import Loader

AHEAD = 2
"""Neighbours that are read ahead in the direction of travel; one in the other direction."""


class Pictures:
    """Reads what a session needs, the most urgent first.

    Args:
        report: called from a thread with every picture that was read.

    Attributes:
        loader: reads for others as well, while it has nothing else to read.
        asked: the current file when pictures were asked for last.
    """

    def __init__(self, session: Session, report: Callable[[Loaded], None]) -> None:
        self.loader = Loader(report)
        self._session = session
        self._scrubbed = Scrubbed()
        self._travel = 1
        self.asked: Path | None = None

    def current(self) -> Loaded | None:
        """The current picture; None while it is read."""
        return self.loader.get(self._session.slot.file)

    def shown(self) -> Loaded | None:
        """The picture on screen: the current one, or while that is read, the last frame read of the same sequence."""
        return self._scrubbed.shown(self._session.slot, self.current())

    def want(self, before: int | None = None, alone: bool = False) -> None:
        """Asks for the pictures of the current shot and of its neighbours.

        Args:
            before: the previous shot, if that was another.
            alone: leave out the neighbours.
        """
        session, slot, against = self._session, self._session.slot, other(self._session)
        if before is not None:
            self._travel = 1 if session.listing.is_before(before) else -1
        self.asked = slot.file
        order: list[Path] = [slot.file]
        if against is not None:
            order.append(against.slot.file)
        if alone:
            self.loader.want(order)
            return
        steps = (step * self._travel for step in (*range(1, AHEAD + 1), -1))
        order += [session.load(index).file for index in session.listing.around(*steps)]
        if slot.shot.numbers:
            order += [slot.shot.files[i] for i in (slot.frame + 1, slot.frame - 1) if 0 <= i < len(slot.shot.files)]
        self.loader.want(order)

    def near(self, loaded: Loaded) -> list[int]:
        """The shots near the current one, and it, that a picture which was read belongs to."""
        around = self._session.listing.around(*range(-AHEAD, AHEAD + 1))
        return [index for index in around if self._session.slots[index].file == loaded.file]

    def on_screen(self, loaded: Loaded) -> bool:
        """Whether a picture that was just read is shown, itself or for a comparison."""
        against, slot = other(self._session), self._session.slot
        wanted = (slot.file, against.slot.file if against else None)
        return loaded.file in wanted or self._scrubbed.took(slot, loaded, self.current())
