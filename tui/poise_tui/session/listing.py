"""The list of a session's shots, filtered and ordered, and moving about in it.

The order is fixed when it is asked for, so that a shot keeps its place while it is balanced; a shot that was still to
be measured under its present decision is inserted at its own place later. The current shot is always shown, even if
the filter excludes it.
"""

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import replace
from typing import Any, Protocol

from poise.sidecar.decision import Decision
from poise_tui.session.filter import Figures, Measured, NameKeys, Wish, narrowed, ordered, rank
from poise_tui.session.shot_state import ShotState


class Shots(Protocol):
    """What a list is made from: a session.

    Attributes:
        revision: changes whenever a state, a fault or a mark may have changed.
    """

    slots: list[ShotState]
    marked: set[int]
    index: int
    revision: int


class Listing:
    """The shots of a session that are listed, in order.

    Attributes:
        wish: the filter and order asked for.
    """

    def __init__(self, shots: Shots) -> None:
        self.wish = Wish()
        self._shots = shots
        self._measured: dict[int, Measured] = {}
        self._ranks: dict[int, float] = {}
        self._keys: list[Any] = []
        self._name_keys = NameKeys()
        self._named: tuple[int, ...] = tuple(range(len(shots.slots)))
        self._all: tuple[int, ...] = ()
        self._places: dict[int, int] = {}
        self._matching: tuple[int, ...] = ()
        self._version = 0
        self._all_of = self._matching_of = (-1, -1, -1)

    # What is asked for

    def ask(self, **changes: Any) -> None:
        """Changes the filter, text or order."""
        self.wish = replace(self.wish, **changes)
        self._version += 1
        if "order" in changes:
            if self.wish.order == "certainty":
                found = {i: slot.decision.certainty for i, slot in enumerate(self._shots.slots)}
            else:
                known = {i: one.figures for i, one in self._measured.items() if not self.waits(i)}
                found = {index: rank(self.wish.order, figures) for index, figures in known.items()}
            self._ranks = {index: value for index, value in found.items() if value is not None}

    def figures(self, index: int) -> Figures | None:
        """The figures of a shot as it was measured last; None if it never was."""
        measured = self._measured.get(index)
        return measured.figures if measured else None

    def waits(self, index: int) -> bool:
        """Whether a shot that was measured waits to be measured under its present decision."""
        measured = self._measured.get(index)
        return measured is not None and not measured.decision.corrects_as(self._shots.slots[index].decision)

    def measured(self, index: int, figures: Figures, decision: Decision, fine: bool = False) -> None:
        """Takes the figures of a shot under a decision; a shot without a place in the order gets one now.

        Figures of an earlier decision are dropped, and so are those of a sample if there are finer ones.

        Args:
            fine: whether they are of the whole proxy or of every pixel, not of a sample.
        """
        before, present = self._measured.get(index), self._shots.slots[index].decision
        if not decision.corrects_as(present) or (before and before.fine and not fine and not self.waits(index)):
            return
        self._measured[index] = Measured(figures, decision, fine)
        value = rank(self.wish.order, figures)
        if value is not None and index not in self._ranks:
            self._ranks[index] = value
            self._version += 1

    @property
    def unmeasured(self) -> int:
        """How many shots have no place in the order because they are not measured yet."""
        return 0 if self.wish.order == "name" else len(self._shots.slots) - len(self._ranks)

    # What is listed

    @property
    def named(self) -> tuple[int, ...]:
        """Every shot in order of name, which is the order of the reel."""
        slots = self._shots.slots
        if len(slots) != len(self._named):
            came = range(len(self._named), len(slots))
            self._keys += [self._name_keys.key(slot.shot) for slot in slots[len(self._keys) :]]
            self._named = tuple(sorted((*self._named, *came), key=self._keys.__getitem__))
        return self._named

    @property
    def all(self) -> tuple[int, ...]:
        """Every shot, in order."""
        slots = self._shots.slots
        key = (len(slots), self._version, 0)
        if key != self._all_of:
            self._all_of = key
            self._all = ordered(self.named, self._ranks) if self.wish.order != "name" else self.named
            self._places = {index: place for place, index in enumerate(self._all)}
        return self._all

    @property
    def matching(self) -> tuple[int, ...]:
        """The shots that match the filter, in order."""
        every = self.all
        if not self.wish.narrow:
            return every
        key = (len(every), self._version, self._shots.revision)
        if key != self._matching_of:
            self._matching_of = key
            self._matching = narrowed(self.wish, every, self._shots.slots, self._shots.marked)
        return self._matching

    @property
    def shown(self) -> tuple[int, ...]:
        """The shots that match the filter, and the current shot, in order."""
        found, place = self.matching, self.place
        return found if self.holds else (*found[:place], self._shots.index, *found[place:])

    @property
    def place(self) -> int:
        """The row of the current shot in `shown`."""
        return self._place(self._shots.index)

    @property
    def holds(self) -> bool:
        """Whether the current shot matches the filter."""
        found, place = self.matching, self.place
        return place < len(found) and found[place] == self._shots.index

    @property
    def _places_now(self) -> dict[int, int]:
        """The place of every shot in order."""
        return self._places if self.all else {}

    def _place(self, index: int) -> int:
        found, places = self.matching, self._places_now
        return bisect_left(found, places[index], key=places.__getitem__)

    # Moving about

    def offset(self, by: int) -> int:
        """The shot a number of rows further down; the first or the last shot beyond the ends."""
        found = self.shown
        return found[min(max(self.place + by, 0), len(found) - 1)]

    def around(self, *steps: int) -> list[int]:
        """The shots at the given offsets in rows, as far as they exist."""
        found, place = self.shown, self.place
        return [found[place + step] for step in steps if 0 <= place + step < len(found)]

    def is_before(self, index: int) -> bool:
        """Whether a shot comes before the current one."""
        return self._places_now[index] < self._places_now[self._shots.index]

    def onward(self) -> Sequence[int]:
        """The matching shots after the current one, then those before it."""
        return self._round(self.matching, self.place)

    def everywhere(self) -> Sequence[int]:
        """All shots after the current one, then those before it."""
        return self._round(self.all, self._places_now[self._shots.index])

    def _round(self, found: tuple[int, ...], place: int) -> Sequence[int]:
        index = self._shots.index
        return [one for one in (*found[place:], *found[:place]) if one != index]
