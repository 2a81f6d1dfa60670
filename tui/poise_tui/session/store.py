"""The shots of a session: the decision about each with its undo, and what has to be saved.

Saving has three parts, so that a slow disk never delays a key: `due` lists the shots to save, `job` returns what to
write for one of them, `finish` takes the outcome. `save_all` does all of it at once, when the program ends.
Everything here runs on one thread.
"""

import time
from collections.abc import Callable, Sequence
from dataclasses import replace as renewed
from functools import partial
from pathlib import Path

from poise.correction import History
from poise.errors import SidecarError
from poise.frames import Shot
from poise.sidecar import SidecarConflict, set_aside
from poise.sidecar.decision import UNDECIDED, Decision
from poise_tui.session.answers import Ask, SidecarRead, at_once, read_sidecar
from poise_tui.session.save import Job, Outcome, failed, write
from poise_tui.session.shot_state import ShotState

SOON = 0.2
"""Seconds from a change to its save; later nudges within that time are saved with it."""
AGAIN = 2.0
"""Seconds after which a failed save is tried again."""


class Store:
    """Shots, their decisions and their saves.

    Attributes:
        slots: in order of arrival; a shot's index never changes.
        revision: changes whenever the state or a fault of a shot may have changed.
    """

    def __init__(self, shots: Sequence[Shot], clock: Callable[[], float] = time.monotonic) -> None:
        self.slots = [ShotState(shot) for shot in shots]
        self.revision = 0
        self.ask: Ask = at_once
        self._clock = clock
        self._waiting: set[int] = set()

    def load(self, index: int) -> ShotState:
        """A shot, whose sidecar is read the first time; from a slow disk it arrives later, through `took`."""
        slot = self.slots[index]
        if not slot.loaded:
            found = self.ask((index, slot.shot.sidecar_path), partial(read_sidecar, index, slot.shot))
            if found is not None:
                self.took(found)
        return slot

    def took(self, read: SidecarRead) -> bool:
        """Adopts a sidecar that was read, as a step that undo can revert; returns whether anything changed."""
        slot = self.slots[read.index]
        if read.path != slot.shot.sidecar_path:
            return False  # sidecars are kept elsewhere by now
        first, slot.loaded, slot.stamp = not slot.loaded, True, read.stamp
        faulty, taken = slot.fault is not None, False
        if read.fault is not None:
            slot.fault = read.fault
        else:
            taken = slot.take(read.found)
            if taken:
                self._waiting.discard(read.index)
            self.revision += faulty or taken
        if first:
            slot.frame = slot.judged
            self.revision += slot.fault is not None or slot.decision.state != "new"
        return taken

    def reread(self, index: int) -> bool:
        """Reads the sidecar again, waiting for the disk, and adopts it."""
        return self.took(read_sidecar(index, self.slots[index].shot))

    @property
    def unsaved(self) -> list[int]:
        """Indexes of shots with a decision that is not on disk."""
        return sorted(self._waiting)

    def due(self) -> list[int]:
        """Indexes of shots whose save should start now."""
        now = self._clock()
        return [i for i in self._waiting if self._ready(self.slots[i], now)]

    def job(self, index: int) -> Job:
        """The job that saves a shot; the shot counts as being saved until `finish`."""
        slot = self.slots[index]
        slot.saving = True
        size = (slot.picture.width, slot.picture.height) if slot.picture else None
        return Job(index, slot.shot, slot.history.present, slot.sidecar, size)

    def finish(self, outcome: Outcome) -> None:
        """Takes the outcome of a save."""
        slot = self.slots[outcome.index]
        slot.saving = False
        self.revision += (slot.fault is None) != (outcome.fault is None)
        if outcome.path != slot.shot.sidecar_path:
            return  # it was saved in the previous sidecar folder
        slot.stamp = outcome.stamp
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
        """Saves everything that is not on disk yet; returns the faults."""
        for index in self.unsaved:
            slot = self.slots[index]
            if not (slot.conflict and slot.kept == slot.history.present):
                job = self.job(index)
                try:
                    outcome = write(job)
                except Exception as unforeseen:  # the other shots must still be saved
                    outcome = failed(job, unforeseen)
                self.finish(outcome)
        return [fault for i in self.unsaved if (fault := self.slots[i].fault) is not None]

    def keep_mine(self, index: int) -> Path | None:
        """Ends a conflict by setting the other version aside and saving this session's in its place.

        Returns:
            The new path of the other version; None if it was gone.

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
        """Ends a conflict by adopting the version on disk; undo still goes back to this session's."""
        return self.reread(index)

    def move_sidecars(self, folder: Path) -> None:
        """Keeps sidecars in another folder from now on, and saves every decision there.

        A shot without a decision adopts the sidecar in that folder; a shot with another decision is in conflict.
        """
        for index in range(len(self.slots)):
            if not self.load(index).loaded:
                self.reread(index)
            self._put(index, renewed(self.slots[index].scanned, sidecars=folder))

    # Shots that are new, or changed on disk

    def add(self, shots: Sequence[Shot]) -> list[int | None]:
        """Adds shots after the others, with their sidecars in the same folder.

        Returns:
            Their indexes; None for a shot that is not added, because another shot uses its sidecar.
        """
        sidecars = self.slots[0].shot.sidecars
        taken = {slot.shot.sidecar_path for slot in self.slots} if sidecars is not None and shots else set()
        indexes: list[int | None] = []
        for shot in shots if sidecars is None else [renewed(shot, sidecars=sidecars) for shot in shots]:
            free = sidecars is None or shot.sidecar_path not in taken
            indexes.append(len(self.slots) if free else None)
            if free:
                taken.add(shot.sidecar_path)
                self.slots.append(ShotState(shot))
        self.revision += 1
        return indexes

    def become(self, index: int, shot: Shot) -> Shot:
        """Gives a shot other files, keeping the frame on screen and all decisions; returns the shot as it was."""
        slot = self.load(index)
        before, file = slot.scanned, slot.scanned.files[slot.frame]
        self._put(index, renewed(shot, sidecars=before.sidecars))
        slot.frame = shot.files.index(file) if file in shot.files else min(slot.frame, len(shot.files) - 1)
        self.revision += 1
        return before

    def gone(self, index: int, gone: bool) -> None:
        """Sets whether the files of a shot are gone."""
        self.slots[index].gone = gone
        self.revision += 1

    def _put(self, index: int, shot: Shot) -> None:
        """Replaces a shot; if its sidecar path changes, its decision is saved there, or else read there."""
        slot = self.slots[index]
        before, slot.scanned = slot.scanned, shot
        if slot.shot.sidecar_path.resolve() == before.sidecar_path.resolve():
            return
        if slot.unsaved or slot.saving or slot.sidecar is not None:
            slot.sidecar, slot.saved, slot.fault, slot.conflict = None, UNDECIDED, None, False
            slot.changed = 0.0
            self._waiting.add(index)
        else:
            slot.loaded = False
            self.load(index)

    def _set(self, index: int, history: History[Decision]) -> None:
        slot = self.slots[index]
        before, after = slot.decision, history.present
        self.revision += (before.state, before.unsure) != (after.state, after.unsure)
        slot.history = history
        if slot.unsaved and not slot.saving and slot.changed is None:
            slot.changed = self._clock()
        if slot.unsaved or slot.saving:
            self._waiting.add(index)
        elif not slot.fault:
            slot.changed = None
            self._waiting.discard(index)

    def _ready(self, slot: ShotState, now: float) -> bool:
        if slot.saving or slot.conflict or slot.changed is None:
            return False
        return now - slot.changed >= (AGAIN if slot.fault else SOON)
