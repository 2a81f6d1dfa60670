"""A session: shots, what was decided about each, undo, and what has to be saved; plain Python, no terminal in it.

All of it happens on one thread. Saving is split in three so that a slow disk never holds up a key: `due` says which
shots wait, `job` hands out what one of them has to write, `finish` takes in how it went. `save_all` does the same in
one go, for a program that ends.
"""

import contextlib
import time
from collections.abc import Callable, Sequence
from dataclasses import replace as renewed
from pathlib import Path
from typing import Any

from msgspec.structs import replace

from poise.correction import NEUTRAL, Correction, Encoding, History
from poise.errors import FileError, PoiseError, SidecarError
from poise.frames import Shot, probe
from poise.sidecar import SidecarConflict, State, load_or_none, set_aside
from poise_tui import desk
from poise_tui.decision import UNDECIDED, Decision
from poise_tui.desk import STEPS, Hand, Mode, banks
from poise_tui.edits.copied import Copied, copied, pasted
from poise_tui.saving import Job, Outcome, write
from poise_tui.slot import Picture, Slot

SOON = 0.2
"""Seconds from a change to its save; nudges that follow within are saved with it."""
AGAIN = 2.0
"""Seconds after which a save that failed is tried again."""


class Session:
    """The shots of one sitting.

    Example:
        session = Session(scan([Path("day")]).shots)
        session.nudge(3, +1)
        session.save_all()
    """

    def __init__(self, shots: Sequence[Shot], clock: Callable[[], float] = time.monotonic) -> None:
        self.slots = [Slot(shot) for shot in shots]
        self.hand = Hand()
        self.index = 0
        self.before = False
        self.marked: set[int] = set()
        self.copied: Copied | None = None
        self.last: int | None = None
        self._clock = clock
        self._waiting: set[int] = set()
        self.load(0)

    # Shots

    @property
    def slot(self) -> Slot:
        """The shot in hand."""
        return self.slots[self.index]

    def load(self, index: int) -> Slot:
        """A shot with its sidecar read, the first time it is asked for."""
        slot = self.slots[index]
        if not slot.loaded:
            slot.loaded = True
            self.reread(index)
            slot.frame = slot.judged
        return slot

    def reread(self, index: int) -> bool:
        """Takes over what is in the sidecar now, as a step that undo goes back over; whether anything changed."""
        slot = self.slots[index]
        try:
            found = load_or_none(slot.shot)
        except SidecarError as fault:
            slot.fault = fault
            return False
        taken = slot.take(found)
        if taken:
            self._waiting.discard(index)
        return taken

    def go(self, index: int) -> None:
        """To another shot; beyond either end stays at the end."""
        self.index = min(max(index, 0), len(self.slots) - 1)
        self.before = False
        mattes = self.load(self.index).decision.correction.mattes
        self.hold(matte=min(self.hand.matte, max(len(mattes) - 1, 0)))
        self._suit()

    def unfinished(self) -> int | None:
        """The next shot, going round, that is neither balanced, held nor skipped."""
        count = len(self.slots)
        for step in range(1, count):
            index = (self.index + step) % count
            slot = self.load(index)
            if slot.decision.state == "new":
                return index
        return None

    def found(self, text: str) -> int | None:
        """The next shot, going round, whose name holds a text; upper and lower case are alike."""
        count, wanted = len(self.slots), text.casefold()
        places = ((self.index + step) % count for step in range(1, count + 1))
        return next((i for i in places if wanted in self.slots[i].shot.name.casefold()), None)

    def frame(self, steps: int) -> bool:
        """Another frame of the sequence in hand; whether there is one."""
        slot = self.slot
        wanted = min(max(slot.frame + steps, 0), len(slot.shot.files) - 1)
        moved, slot.frame = wanted != slot.frame, wanted
        return moved

    def mark(self) -> None:
        """Marks the shot in hand, or takes its mark off."""
        self.marked ^= {self.index}

    def seen(self, index: int, picture: Picture | None) -> None:
        """What was found out about a shot's picture; None when it can't be read."""
        self.slots[index].picture = picture
        if index == self.index:
            self._suit()

    def encoding(self, index: int) -> Encoding:
        """The encoding of any shot; the header of a picture that was not seen yet tells its format's default."""
        slot = self.load(index)
        if slot.picture is None and slot.decision.encoding is None:
            with contextlib.suppress(FileError):
                header = probe(slot.file)
                self.seen(index, Picture(header.width, header.height, header.linear, header.channels < 3))
        return slot.encoding

    # The hand

    def hold(self, **changes: Any) -> None:
        """The hand, with some of it changed."""
        self.hand = renewed(self.hand, **changes)

    def step(self, by: int) -> None:
        """A finer or coarser step."""
        self.hold(size=min(max(self.hand.size + by, 0), len(STEPS) - 1))

    def turn(self) -> None:
        """The next bank of the desk."""
        self.hold(bank=(self.hand.bank + 1) % len(banks(self.hand.mode)))

    def work(self, mode: Mode) -> None:
        """To another table; to the one at hand goes back to balancing."""
        self.hold(mode="balance" if mode == self.hand.mode else mode, bank=0, shown="result", inverted=False)
        self.before = False

    # Decisions

    def decide(self, decision: Decision, index: int | None = None) -> bool:
        """A new decision about a shot; whether it differs from the present one."""
        index = self.index if index is None else index
        slot = self.load(index)
        if decision == slot.decision:
            return False
        self._set(index, slot.history.do(decision))
        self.last = index
        return True

    def correct(self, correction: Correction, *, hand: bool = True, index: int | None = None) -> bool:
        """A new correction of a shot."""
        slot = self.load(self.index if index is None else index)
        if correction == slot.decision.correction:
            return False
        return self.decide(replace(slot.decision, correction=correction, hand=hand), index)

    def nudge(self, place: int, direction: int, names: tuple[str, ...] = ()) -> bool:
        """Moves the column at a place by one step of the hand; whether anything moved.

        Args:
            names: the transfer functions that an encoding column goes through.

        Raises:
            PoiseError: the column is empty, or the picture can't take it.
        """
        slot, column = self.slot, self._column(place)
        if column is None:
            return self.encode(self._turned(place, direction, names))
        return self._moved(column, column.nudged(slot.decision.correction, self.hand, direction * self.hand.step))

    def home(self, place: int) -> bool:
        """Puts the column at a place back to neutral."""
        slot, column = self.slot, self._column(place)
        if column is None:
            what = desk.encoding_column(self.hand, place)
            assert what is not None
            return self.encode(desk.put_home(slot.encoding, what, slot.default))
        return self._moved(column, column.home(slot.decision.correction, self.hand))

    def encode(self, encoding: Encoding, index: int | None = None) -> bool:
        """Names the encoding of a shot."""
        slot = self.load(self.index if index is None else index)
        if encoding == slot.encoding:
            return False
        return self.decide(replace(slot.decision, encoding=encoding), index)

    def reset(self) -> bool:
        """The whole correction back to neutral; encoding, state and note stay."""
        return self.correct(NEUTRAL)

    def state(self, state: State, note: str | None = None, index: int | None = None) -> bool:
        """Balanced, held, skipped or new; a note if one is given."""
        slot = self.load(self.index if index is None else index)
        said = slot.decision.note if note is None else note
        return self.decide(replace(slot.decision, state=state, note=said), index)

    def copy(self) -> Copied:
        """Keeps what is in hand to be pasted.

        Raises:
            PoiseError: nothing is.
        """
        self.copied = copied(self.slot.decision.correction, self.hand)
        return self.copied

    def paste(self, parts: Sequence[str] = Correction.__struct_fields__, index: int | None = None) -> bool:
        """Puts what was copied onto a shot.

        Args:
            parts: of a whole correction, which to take.

        Raises:
            PoiseError: nothing was copied, or the shot can't take it.
        """
        if self.copied is None:
            raise PoiseError("nothing was copied yet")
        slot = self.load(self.index if index is None else index)
        return self.correct(pasted(slot.decision.correction, self.copied, parts), index=index)

    def undo(self) -> bool:
        """One decision back, for the shot in hand."""
        moved = bool(self.slot.history.depth)
        self._set(self.index, self.slot.history.undo())
        return moved

    def redo(self) -> bool:
        """One decision forward again."""
        moved = bool(self.slot.history.ahead)
        self._set(self.index, self.slot.history.redo())
        return moved

    # Saving

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

    def keep_mine(self, index: int | None = None) -> Path | None:
        """Ends a conflict: the other version is set aside, and this session's is saved in its place.

        Returns:
            Where the other version is now; None if it was gone.

        Raises:
            SidecarError: the file can't be moved.
        """
        index = self.index if index is None else index
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

    def take_theirs(self, index: int | None = None) -> bool:
        """Ends a conflict: the version on disk is taken over; undo still goes back to this session's."""
        index = self.index if index is None else index
        return self.reread(index)

    def move_sidecars(self, folder: Path) -> None:
        """Keeps sidecars in another folder from now on; every decision is saved there.

        A shot without one takes over what the folder holds; where it holds another, the two are in conflict.
        """
        for index in range(len(self.slots)):
            slot = self.load(index)
            before, slot.shot = slot.shot, renewed(slot.shot, sidecars=folder)
            if slot.shot.sidecar_path.resolve() == before.sidecar_path.resolve():
                continue
            if slot.unsaved or slot.saving or slot.sidecar is not None:
                slot.sidecar, slot.saved, slot.fault, slot.conflict = None, UNDECIDED, None, False
                slot.changed = 0.0
                self._waiting.add(index)
            else:
                self.reread(index)

    def _set(self, index: int, history: History[Decision]) -> None:
        slot = self.slots[index]
        slot.history = history
        self.before = False
        if slot.unsaved and not slot.saving and slot.changed is None:
            slot.changed = self._clock()
        if slot.unsaved or slot.saving:
            self._waiting.add(index)
        elif not slot.fault:
            slot.changed = None
            self._waiting.discard(index)

    def _suit(self) -> None:
        """Takes the master's curve in hand where the picture has one channel."""
        if self.slot.picture and self.slot.picture.grey:
            self.hold(channel="master")

    def _moved(self, column: desk.Column, correction: Correction) -> bool:
        before = self.slot.decision.correction
        changed = self.correct(correction)
        self.hand = column.follow(before, correction, self.hand)
        return changed

    def _ready(self, slot: Slot, now: float) -> bool:
        if slot.saving or slot.conflict or slot.changed is None:
            return False
        return now - slot.changed >= (AGAIN if slot.fault else SOON)

    def _column(self, place: int) -> desk.Column | None:
        column = desk.column(self.hand, place)
        if column is None and desk.encoding_column(self.hand, place) is None:
            turning = "; Tab turns the desk" if len(banks(self.hand.mode)) > 1 else ""
            raise PoiseError(f"no control in this column{turning}")
        if column is not None and column.coloured and self.slot.picture and self.slot.picture.grey:
            raise PoiseError(f"a greyscale picture takes no {column.name}: its channels are one")
        return column

    def _turned(self, place: int, direction: int, names: tuple[str, ...]) -> Encoding:
        what = desk.encoding_column(self.hand, place)
        assert what is not None
        if not names and what != "range":
            raise PoiseError("the names of transfer functions are still being read; press again")
        return desk.turned(self.slot.encoding, what, direction, names)
