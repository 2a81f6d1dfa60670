"""Watches in a thread whether somebody else changes the current picture or its sidecar."""

import queue
import time
from dataclasses import dataclass
from pathlib import Path

from poise.frames import Shot
from poise.stamp import Stamp
from poise_tui.session.answers import SidecarRead, read_sidecar
from poise_tui.session.session import Session
from poise_tui.workers.thread import Answer, Latest

WATCH = 1.0
"""Seconds between checks."""


@dataclass(frozen=True)
class FileState:
    """The files of a shot as they are now.

    Attributes:
        picture: the stamp of the picture; None if it is gone.
        known: the stamp of the sidecar that the new one was compared with.
        sidecar: read again if its stamp differs; None if not.
    """

    index: int
    file: Path
    picture: Stamp | None
    known: Stamp | None
    sidecar: SidecarRead | None


Watched = tuple[int, Path, Shot, Stamp | None]
"""The index of a shot, its file on screen, the shot, and the stamp of its sidecar as last read or saved."""


def look(index: int, file: Path, shot: Shot, known: Stamp | None) -> FileState:
    """Checks both files.

    Args:
        known: the stamp of the sidecar as last read or saved; None if there was none.
    """
    same = Stamp.of(shot.sidecar_path) == known
    return FileState(index, file, Stamp.of(file), known, None if same else read_sidecar(index, shot))


class FileWatcher:
    """Watches the files of a session's current shot."""

    def __init__(self, session: Session) -> None:
        self._session = session
        self._states: queue.SimpleQueue[Answer[Watched, FileState]] = queue.SimpleQueue()
        """What was seen, until the next tick: a call for each would have textual paint again below help."""
        self._worker: Latest[Watched, FileState] = Latest("watch", self._states.put)
        self._watched = 0.0

    def tick(self) -> list[FileState]:
        """Starts a check if one is due; returns what was seen of the current shot since the last call."""
        session, slot, now = self._session, self._session.slot, time.monotonic()
        if now - self._watched >= WATCH and slot.loaded and not self._worker.busy:
            self._watched = now
            self._worker.do((session.index, slot.file, slot.shot, slot.stamp), lambda asked: look(*asked))
        seen = [self._states.get() for _ in range(self._states.qsize())]
        here = (session.index, slot.file)
        return [one.found for one in seen if isinstance(one.found, FileState) and one.asked[:2] == here]

    def end(self) -> None:
        """Stops the thread."""
        self._worker.end()
