"""Reads the sidecars and headers of shots ahead of time."""

from functools import partial

from poise_tui.session.answers import read_header, read_sidecar
from poise_tui.session.session import Session
from poise_tui.workers.disk import Disk

AT_ONCE = 64
"""The most sidecars and headers that are waited for at once."""


class ReadAhead:
    """Asks the disk for a session, on demand and ahead of time."""

    def __init__(self, session: Session) -> None:
        self._session = session
        self._disk = Disk()
        self._next = 0
        session.ask = self._disk.ask

    def take(self) -> list[int]:
        """Passes the late answers of the disk to the session; returns the indexes of their shots."""
        answers = self._disk.tick()
        for answer in answers:
            self._session.answered(answer)
        return [answer.index for answer in answers]

    def sidecars(self) -> None:
        """Asks for some of the unread sidecars, so that states are known before they are needed."""
        slots, left = self._session.slots, AT_ONCE - self._disk.waiting
        while self._next < len(slots) and left > 0:
            slot, index = slots[self._next], self._next
            if not slot.loaded:
                self._disk.ask((index, slot.shot.sidecar_path), partial(read_sidecar, index, slot.shot), wait=False)
                left -= 1
            self._next += 1

    def headers(self) -> None:
        """Asks for headers of marked shots, so that nudges know which of them are greyscale."""
        slots, left = self._session.slots, AT_ONCE - self._disk.waiting
        for index in self._session.marked if left > 0 else ():
            slot = slots[index]
            if not (slot.picture or slot.probed) and left > 0:
                self._disk.ask((index, slot.file), partial(read_header, index, slot.file), wait=False)
                left -= 1

    def end(self) -> None:
        """Stops the thread."""
        self._disk.end()
