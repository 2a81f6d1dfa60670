"""A session: the current shot among the others, and the decisions about it; plain Python, without a terminal."""

import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import replace as renewed
from functools import partial
from typing import Any

from msgspec.structs import replace

from poise.correction import NEUTRAL, Correction, Encoding, History
from poise.correction.keyframes import with_keyframe
from poise.correction.steady import steadied
from poise.errors import PoiseError
from poise.frames import Shot
from poise.sidecar import State, Version
from poise.sidecar.decision import Decision
from poise_tui import desk
from poise_tui.desk import STEPS, Hand, Mode, banks
from poise_tui.session.answers import HeaderRead, SidecarRead, read_header
from poise_tui.session.clipboard import Clipboard, copied
from poise_tui.session.listing import Listing
from poise_tui.session.run import TOGETHER, Run
from poise_tui.session.shot_state import Picture, ShotState, StillReading
from poise_tui.session.step import Step
from poise_tui.session.store import Store


class Session(Store):
    """The shots of one session, the current one, and the state of the desk.

    Attributes:
        together: whether the group is on: nudges go to the marked shots as well as to the current one.
        steps: the changes of several shots at once, the latest last.
        ten: whether auto and match stay within slope, offset, power and saturation, which a CDL holds exactly.
        trial: a decision that is shown instead of that about the current shot, but not made; None for none.
        last: the index of the shot changed last.
        listing: which shots are listed, and in which order.

    Example:
        session = Session(scan([Path("day")]).shots)
        session.correct(Correction(saturation=1.1))
        session.save_all()
    """

    def __init__(self, shots: Sequence[Shot], clock: Callable[[], float] = time.monotonic) -> None:
        super().__init__(shots, clock)
        self.hand = Hand()
        self.index = 0
        self.before = False
        self.marked: set[int] = set()
        self.copied: Clipboard | None = None
        self.together = False
        self.steps: list[Step] = []
        self.reference: ShotState | None = None
        self.ten = False
        self.trial: Decision | None = None
        self.last: int | None = None
        self.listing = Listing(self)
        self._run: Run | None = None
        self._warned: tuple[int, int] | None = None
        self._pressed: Run | None = None
        self.load(0)

    # Shots

    @property
    def slot(self) -> ShotState:
        """The current shot."""
        return self.slots[self.index]

    @property
    def delivered(self) -> Correction:
        """The correction that the instruments show: with the steady values of the frame on screen."""
        shown, slot = self.shown, self.slot
        return steadied(shown.correction, shown.steady, slot.shot.number(slot.frame))

    @property
    def shown(self) -> Decision:
        """The decision that the instruments show: the one on trial, else that about the current shot."""
        return self.trial or self.slot.decision

    def go(self, index: int) -> None:
        """Goes to another shot; an index beyond either end means the shot at that end."""
        self.trial = None
        self.index = min(max(index, 0), len(self.slots) - 1)
        self.before = self.before and self.hand.mode == "reel"
        mattes = self.load(self.index).decision.correction.mattes
        self.hold(matte=min(self.hand.matte, max(len(mattes) - 1, 0)), corners=())
        self._suit()

    def unfinished(self) -> int | None:
        """The next listed shot that is neither balanced, held nor skipped, wrapping around; None if there is none.

        If the list shows only shots of one of these states, simply the next of them.
        """
        if self.listing.wish.only in ("balanced", "held", "skipped"):
            return next(iter(self.listing.onward()), None)
        return next((i for i in self.listing.onward() if self.load(i).decision.state == "new"), None)

    def found(self, text: str) -> int | None:
        """The next of all shots, wrapping around, whose name contains a text regardless of case; None if none does."""
        wanted = text.casefold()
        places = (*self.listing.everywhere(), self.index)
        return next((i for i in places if wanted in self.slots[i].shot.name.casefold()), None)

    def frame(self, steps: int) -> bool:
        """Goes to another frame of the current sequence; returns whether it moved."""
        slot = self.slot
        wanted = min(max(slot.frame + steps, 0), len(slot.shot.files) - 1)
        moved, slot.frame = wanted != slot.frame, wanted
        if moved:
            self._warned = None
            self.end_run()
        return moved

    def mark(self) -> None:
        """Marks or unmarks the current shot."""
        self.marked ^= {self.index}
        self.revision += 1

    def mark_all(self) -> bool:
        """Marks all listed shots, or clears all marks if they all are marked; returns whether they are marked now."""
        listed = set(self.listing.matching)
        every = listed <= self.marked
        self.marked = set() if every else self.marked | listed
        self.revision += 1
        return not every

    def set_picture(self, index: int, picture: Picture | None) -> None:
        """Takes what is known of a shot's picture; None if it can't be read."""
        slot, broken = self.slots[index], picture is None
        self.revision += slot.broken != broken
        slot.picture, slot.broken = picture, broken
        if index == self.index:
            self._suit()

    def probed(self, index: int) -> Picture | None:
        """The shot's picture, from its header if it was not read yet; None if that can't be read, or not yet."""
        slot = self.slots[index]
        if slot.picture is None and not slot.probed:
            found = self.ask((index, slot.file), partial(read_header, index, slot.file))
            if found is not None:
                self.answered(found)
        return slot.picture

    def answered(self, answer: SidecarRead | HeaderRead) -> None:
        """Takes an answer of the disk."""
        if isinstance(answer, SidecarRead):
            if not self.slots[answer.index].loaded:
                self.took(answer)
            return
        self.slots[answer.index].probed = True
        if answer.picture is not None and self.slots[answer.index].picture is None:
            self.set_picture(answer.index, answer.picture)

    def encoding(self, index: int) -> Encoding:
        """The encoding of any shot; reads the header of an unread picture for the default of its format."""
        slot = self.load(index)
        if slot.decision.encoding is None:
            self.probed(index)
        return slot.encoding

    # The hand

    def hold(self, **changes: Any) -> None:
        """Changes parts of the hand."""
        self.hand = renewed(self.hand, **changes)

    def step(self, by: int) -> None:
        """Chooses a finer or coarser step."""
        self.hold(size=min(max(self.hand.size + by, 0), len(STEPS) - 1))

    def next_bank(self) -> None:
        """Switches the desk to its next bank."""
        self.hold(bank=(self.hand.bank + 1) % len(banks(self.hand.mode)))

    def work(self, mode: Mode) -> None:
        """Switches to another mode; the current mode again switches back to balance mode."""
        self.hold(mode="balance" if mode == self.hand.mode else mode, bank=0, shown="result", inverted=False)
        self.before, self.trial = False, None

    # Runs

    @contextmanager
    def pressing(self, place: int) -> Iterator[None]:
        """A press of a column: what it changes is one step of undo with the presses just before it."""
        column, now, run = (place, self.hand.mode, self.hand.bank), self._clock(), self._run
        if run is None or run.column != column or now - run.at >= TOGETHER:
            run = self._run = Run(column, now)
        run.at, self._pressed = now, run
        try:
            yield
        finally:
            self._pressed = None

    def end_run(self) -> None:
        """Has the next press of a column be a step of its own."""
        self._run = None

    def share(self, after: dict[int, Decision]) -> None:
        """Notes the decisions about several shots that one key made, or one run of keys, as one step of undo."""
        run = self._pressed
        if run is not None:
            self.steps = [step for step in self.steps if step is not run.step]
            after, run.step = dict(run.after), None
        if len(after) > 1:
            self.steps.append(Step(after))
            if run is not None:
                run.step = self.steps[-1]

    # Decisions

    def decide(self, decision: Decision, index: int | None = None, *, ask: bool = True) -> bool:
        """Changes the decision about a shot; returns whether it differs from the present one.

        Args:
            ask: refuse a correction of a frame between keyframes the first time, and say what it would do.

        Raises:
            PoiseError: it was refused so.
            StillReading: the previous decision is not read yet.
        """
        index = self.index if index is None else index
        slot = self.load(index)
        if not slot.loaded:
            raise StillReading("its sidecar is still being read")
        if decision == slot.decision:
            return False
        decision = self._keyed(slot, index, decision, ask)
        run = self._pressed
        history = slot.history if run is None else run.base(index, slot.history)
        self._set(index, history.do(decision))
        if run is not None:
            run.moved(index, slot.history)
        self.last = index
        return True

    def _keyed(self, slot: ShotState, index: int, decision: Decision, ask: bool) -> Decision:
        """A decision that was made about the frame on screen, as one about the sequence: its correction is a keyframe.

        Raises:
            PoiseError: there is no keyframe at that frame, the first time.
        """
        present, here = slot.history.present, slot.decision
        if here is present or not decision.keyframes:
            return decision
        if decision.keyframes == present.keyframes and decision.correction != here.correction:
            number = slot.shot.numbers[slot.frame]
            if ask and not slot.keyed and self._warned != (index, number):
                self._warned = index, number
                raise PoiseError(
                    f"frame {number} is no keyframe, and this would make it one, with that value; again does so"
                )
            keyframes = with_keyframe(present.keyframes, number, decision.correction)
            decision = replace(decision, keyframes=keyframes)
        return replace(decision, correction=present.correction)

    def correct(
        self,
        correction: Correction,
        *,
        by_hand: bool = True,
        index: int | None = None,
        certainty: float | None = None,
        ask: bool = True,
    ) -> bool:
        """Changes the correction of a shot; returns whether it differs.

        Args:
            ask: as in `decide`.
            certainty: of a starting point of auto. A change by hand keeps it, and a neutral correction has none.
        """
        slot = self.load(self.index if index is None else index)
        sure = slot.decision.certainty if by_hand and correction != NEUTRAL else certainty
        if correction == slot.decision.correction and sure == slot.decision.certainty:
            return False
        return self.decide(
            replace(slot.decision, correction=correction, by_hand=by_hand, certainty=sure), index, ask=ask
        )

    def column(self, place: int) -> desk.Column:
        """The column at a place.

        Raises:
            PoiseError: the column is empty.
        """
        column = desk.column(self.hand, place)
        if column is None:
            more = "; Tab switches banks" if len(banks(self.hand.mode)) > 1 else ""
            raise PoiseError(f"no control in this column{more}")
        return column

    def suited(self, column: desk.Column, index: int) -> None:
        """Raises PoiseError if a column does not apply to a shot's picture."""
        picture = self.slots[index].picture
        if column.coloured and picture and picture.grey:
            raise PoiseError(f"a greyscale picture takes no {column.name}: it has one channel")

    def state(self, state: State, note: str | None = None, index: int | None = None) -> bool:
        """Sets the state of a shot, and its note if one is given."""
        slot = self.load(self.index if index is None else index)
        said = slot.decision.note if note is None else note
        return self.decide(replace(slot.decision, state=state, note=said), index)

    def copy(self) -> Clipboard:
        """Copies the current matte, the curves or the correction, depending on the mode.

        Raises:
            PoiseError: there is no matte yet.
        """
        self.copied = copied(self.slot.decision.correction, self.hand)
        return self.copied

    def undo(self, index: int | None = None) -> bool:
        """Undoes one decision; returns whether there was one."""
        index = self.index if index is None else index
        history = self.slots[index].history
        self._go_to(index, history.undo())
        return bool(history.depth)

    def redo(self, index: int | None = None) -> bool:
        """Redoes one decision; returns whether there was one."""
        index = self.index if index is None else index
        history = self.slots[index].history
        self._go_to(index, history.redo())
        return bool(history.ahead)

    def revise(self, index: int, versions: Mapping[str, Version]) -> None:
        """Gives a shot other versions, which is no step of undo."""
        slot = self.load(index)
        if not slot.loaded:
            raise StillReading("its sidecar is still being read")
        self._revise(index, slot.history, versions)

    def _go_to(self, index: int, history: History[Decision]) -> None:
        """Goes back or forth in a shot's decisions; its versions stay."""
        self._revise(index, history, self.slots[index].decision.versions)

    def _revise(self, index: int, history: History[Decision], versions: Mapping[str, Version]) -> None:
        before = history.present
        if before.versions != versions:
            history = history.revised(replace(before, versions=versions))
            for step in self.steps:  # they know decisions by identity
                if step.after.get(index) is before:
                    step.after[index] = history.present
        self._set(index, history)

    def _set(self, index: int, history: History[Decision]) -> None:
        super()._set(index, history)
        self.before, self.trial = False, None

    def _suit(self) -> None:
        """Selects the master curve if the picture has one channel."""
        if self.slot.picture and self.slot.picture.grey:
            self.hold(channel="master")
