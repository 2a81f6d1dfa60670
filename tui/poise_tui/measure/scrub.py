"""Scrubbing: while a frame of a sequence is being read, the last frame that was read stays on screen.

So frames follow a held arrow key as fast as they can be read; the status line says which one is on screen.
"""

from pathlib import Path

from poise_tui.measure.loaded import Loaded
from poise_tui.session.shot_state import ShotState


class Scrubbed:
    """Remembers what was last seen of one sequence."""

    def __init__(self) -> None:
        self._files: tuple[Path, ...] = ()
        self._among: frozenset[Path] = frozenset()
        self._last: Loaded | None = None

    def shown(self, slot: ShotState, loaded: Loaded | None) -> Loaded | None:
        """The picture to show.

        Args:
            loaded: the current picture; None while it is read.
        """
        self._follow(slot)
        if loaded is not None:
            self._last = loaded if loaded.small is not None else None
            return loaded
        return self._last

    def took(self, slot: ShotState, loaded: Loaded, there: Loaded | None) -> bool:
        """Whether a picture that was just read should be shown until the current frame is read."""
        self._follow(slot)
        if there is not None or loaded.file not in self._among or loaded.small is None:
            return False
        self._last = loaded
        return True

    def _follow(self, slot: ShotState) -> None:
        files = slot.shot.files
        if files is not self._files and files != self._files:
            self._files, self._among, self._last = files, frozenset(files), None
