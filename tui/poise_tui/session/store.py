"""The shots of a sitting: what was decided about each with its undo, and what has to be saved.

Saving is split in three so that a slow disk never holds up a key: `due` says which shots wait, `job` hands out what
one of them has to write, `finish` takes in how it went. `save_all` does the same in one go, for a program that ends.
All of it happens on one thread.
"""

import time
from collections.abc import Callable, Sequence
from dataclasses import replace as renewed
from pathlib import Path

from poise.correction import History
from poise.errors import SidecarError
from poise.frames import Shot
from poise.sidecar import SidecarConflict, load_or_none, set_aside
from poise.sidecar.decision import UNDECIDED, Decision
from poise_tui.session.save import Job, Outcome, write
from poise_tui.session.shot_state import Slot

SOON = 0.2
"""Seconds from a change to its save; nudges that follow within are saved with it."""
AGAIN = 2.0
"""Seconds after which a save that failed is tried again."""


class Store:
    """Shots, their decisions and their saves.

    Attributes:
        slots: in the order in which they came; a shot's place among them never changes.
        revision: another one whenever the state of a shot, or what is wrong with it, may be another.
    """

    def __init__(self, shots: Sequence[Shot], clock: Callable[[], float] = time.monotonic) -> None:
        self.slots = [Slot(shot) for shot in shots]
        self.revision = 0
        self._clock = clock
        self._waiting: set[int] = set()

    def load(self, index: int) -> Slot:
        """A shot with its sidecar read, the first time it is asked for."""
        slot = self.slots[index]
        if not slot.loaded:
            slot.loaded = True
            self.reread(index)
            slot.frame = slot.judged
            self.revision += slot.fault is not None or slot.decision.state != "new"
        return slot

    def reread(self, index: int) -> bool:
        """Takes over what is in the sidecar now, as a step that undo goes back over; whether anything changed."""
        slot = self.slots[index]
        try:
            found = load_or_none(slot.shot)
        except SidecarError as fault:
            slot.fault = fault
            return False
        faulty, taken = slot.fault is not None, slot.take(found)
        if taken:
            self._waiting.discard(index)
        self.revision += faulty or (taken and slot.loaded)
        return taken

    @property
    def unsaved(self) -> list[int]:
        """Shots with a decision that is not on disk."""
        return sorted(self._waiting)

    def due(self) -> list[int]:
        """Shots whose save should start now."""
        now = self._clock()
        return [i for i in self._waiting if self._ready(self.slots[i], now)]

    def job(self, index: int) -> Job:
        """What a shot has to write; it counts as being saved until `finish`."""
        slot = self.slots[index]
        slot.saving = True
        size = (slot.picture.width, slot.picture.height) if slot.picture else None
        return Job(index, slot.shot, slot.decision, slot.sidecar, size)

    def finish(self, outcome: Outcome) -> None:
        """Takes in how a save went."""
        slot = self.slots[outcome.index]
        slot.saving = False
        self.revision += (slot.fault is None) != (outcome.fault is None)
        if outcome.path != slot.shot.sidecar_path:
            return  # it went to the folder where sidecars stood before
        if outcome.fault is None:
            slot.sidecar, slot.saved, slot.fault, slot.conflict = outcome.saved, outcome.decision, None, False
            slot.changed = self._clock() if slot.unsaved else None
            if not slot.unsaved:
                self._waiting.discard(outcome.index)
        else:
            slot.fault, slot.changed = outcome.fault, self._clock()
            slot.conflict = isinstance(outcome.fault, SidecarConflict)
            slot.kept = outcome.decision if slot.conflict else None

    def save_all(self) -> list[SidecarError]:
        """Saves whatever is not on disk yet, and says what could not be."""
        for index in self.unsaved:
            slot = self.slots[index]
            if not (slot.conflict and slot.kept == slot.decision):
                self.finish(write(self.job(index)))
        return [fault for i in self.unsaved if (fault := self.slots[i].fault) is not None]

    def keep_mine(self, index: int) -> Path | None:
        """Ends a conflict: the other version is set aside, and this session's is saved in its place.

        Returns:
            Where the other version is now; None if it was gone.

        Raises:
            SidecarError: the file can't be moved.
        """
        slot, path = self.slots[index], self.slots[index].shot.sidecar_path
        copy = slot.fault.kept if isinstance(slot.fault, SidecarConflict) else None
        aside = set_aside(path) if path.exists() else None
        slot.sidecar, slot.saved, slot.fault, slot.conflict = None, UNDECIDED, None, False
        slot.changed = 0.0
        self._waiting.add(index)
        self.finish(write(self.job(index)))
        if copy and not slot.fault:
            copy.unlink(missing_ok=True)
        return aside

    def take_theirs(self, index: int) -> bool:
        """Ends a conflict: the version on disk is taken over; undo still goes back to this session's."""
        return self.reread(index)

    def move_sidecars(self, folder: Path) -> None:
        """Keeps sidecars in another folder from now on; every decision is saved there.

        A shot without one takes over what the folder holds; where it holds another, the two are in conflict.
        """
        for index in range(len(self.slots)):
            self._put(index, renewed(self.load(index).shot, sidecars=folder))

    # Shots that came, or changed on disk

    def add(self, shots: Sequence[Shot]) -> list[int | None]:
        """More shots, behind the others; their sidecars stand where those of the others do.

        Returns:
            Their indexes; None for one whose sidecar would be another shot's, so that it is not added.
        """
        sidecars = self.slots[0].shot.sidecars
        taken = {slot.shot.sidecar_path for slot in self.slots} if sidecars is not None and shots else set()
        indexes: list[int | None] = []
        for shot in shots if sidecars is None else [renewed(shot, sidecars=sidecars) for shot in shots]:
            free = sidecars is None or shot.sidecar_path not in taken
            indexes.append(len(self.slots) if free else None)
            if free:
                taken.add(shot.sidecar_path)
                self.slots.append(Slot(shot))
        self.revision += 1
        return indexes

    def become(self, index: int, shot: Shot) -> Shot:
        """Other files for a shot; the one that is on screen stays, and so does what was decided. What it was before."""
        slot = self.load(index)
        before, file = slot.shot, slot.file
        self._put(index, renewed(shot, sidecars=before.sidecars))
        slot.frame = shot.files.index(file) if file in shot.files else min(slot.frame, len(shot.files) - 1)
        self.revision += 1
        return before

    def gone(self, index: int, gone: bool) -> None:
        """Whether the files of a shot are gone."""
        self.slots[index].gone = gone
        self.revision += 1

    def _put(self, index: int, shot: Shot) -> None:
        """Another shot in a place; where its sidecar is another, that takes what was decided, or tells it."""
        slot = self.slots[index]
        before, slot.shot = slot.shot, shot
        if slot.shot.sidecar_path.resolve() == before.sidecar_path.resolve():
            return
        if slot.unsaved or slot.saving or slot.sidecar is not None:
            slot.sidecar, slot.saved, slot.fault, slot.conflict = None, UNDECIDED, None, False
            slot.changed = 0.0
            self._waiting.add(index)
        else:
            self.reread(index)

    def _set(self, index: int, history: History[Decision]) -> None:
        slot = self.slots[index]
        self.revision += slot.decision.state != history.present.state
        slot.history = history
        if slot.unsaved and not slot.saving and slot.changed is None:
            slot.changed = self._clock()
        if slot.unsaved or slot.saving:
            self._waiting.add(index)
        elif not slot.fault:
            slot.changed = None
            self._waiting.discard(index)

    def _ready(self, slot: Slot, now: float) -> bool:
        if slot.saving or slot.conflict or slot.changed is None:
            return False
        return now - slot.changed >= (AGAIN if slot.fault else SOON)
