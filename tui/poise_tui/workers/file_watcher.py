"""Whether somebody else changed the picture or the sidecar in hand."""

from dataclasses import dataclass

from poise.stamp import Stamp
from poise_tui.session.shot_state import Slot


@dataclass
class FileWatcher:
    """The files of the shot in hand as they were seen last; None for one that is not there."""

    picture: Stamp | None = None
    sidecar: Stamp | None = None

    def take(self, slot: Slot) -> None:
        """Both as they are now."""
        self.picture = Stamp.of(slot.file)
        self.take_sidecar(slot)

    def take_sidecar(self, slot: Slot) -> None:
        self.sidecar = Stamp.of(slot.shot.sidecar_path)

    def other_picture(self, slot: Slot) -> bool:
        """Whether the picture is another now, or gone."""
        return Stamp.of(slot.file) != self.picture

    def other_sidecar(self, slot: Slot) -> bool:
        """Whether somebody else wrote the sidecar; asked once for each time. A save of ours under way is none."""
        there = Stamp.of(slot.shot.sidecar_path)
        if there == self.sidecar or slot.saving:
            return False
        self.sidecar = there
        return True
