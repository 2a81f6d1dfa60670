"""The list of shots of a session as it is narrowed and ordered, and going about in it.

The order is that of the moment when it was asked for, so that a shot that is being balanced keeps its place; one that
is measured later takes its own. The shot in hand is always in sight, even if it is not among what is asked for.
"""

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import replace
from typing import Any, Protocol

from poise_tui.session.filter import Figures, NameKeys, Wish, narrowed, ordered, rank
from poise_tui.session.shot_state import Slot


class Shots(Protocol):
    """What a list is made of: a session.

    Attributes:
        revision: another one whenever a state, a fault or a mark may be another.
    """

    slots: list[Slot]
    marked: set[int]
    index: int
    revision: int


class Listing:
    """What is listed of a session's shots.

    Attributes:
        wish: what is asked for.
    """

    def __init__(self, shots: Shots) -> None:
        self.wish = Wish()
        self._shots = shots
        self._figures: dict[int, Figures] = {}
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
        """Another filter, text or order."""
        self.wish = replace(self.wish, **changes)
        self._version += 1
        if "order" in changes:
            found = {index: rank(self.wish.order, figures) for index, figures in self._figures.items()}
            self._ranks = {index: value for index, value in found.items() if value is not None}

    def measured(self, index: int, figures: Figures) -> None:
        """What was read off a shot; one without a place in the order gets it now."""
        self._figures[index] = figures
        value = rank(self.wish.order, figures)
        if value is not None and index not in self._ranks:
            self._ranks[index] = value
            self._version += 1

    @property
    def unmeasured(self) -> int:
        """How many shots have no place in an order by what was measured."""
        return 0 if self.wish.order == "name" else len(self._shots.slots) - len(self._ranks)

    # What is listed

    @property
    def named(self) -> tuple[int, ...]:
        """Every shot in the order of names, which is the reel's."""
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
        """What is asked for, in order."""
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
        """What is asked for and the shot in hand, in order."""
        found, place = self.matching, self.place
        return found if self.holds else (*found[:place], self._shots.index, *found[place:])

    @property
    def place(self) -> int:
        """Of the shot in hand in what is shown."""
        return self._place(self._shots.index)

    @property
    def holds(self) -> bool:
        """Whether the shot in hand is among what is asked for."""
        found, place = self.matching, self.place
        return place < len(found) and found[place] == self._shots.index

    @property
    def _places_now(self) -> dict[int, int]:
        """The place of every shot in order."""
        return self._places if self.all else {}

    def _place(self, index: int) -> int:
        found, places = self.matching, self._places_now
        return bisect_left(found, places[index], key=places.__getitem__)

    # Going about

    def beside(self, by: int) -> int:
        """The shot so many rows further on; the first or the last beyond the ends."""
        found = self.shown
        return found[min(max(self.place + by, 0), len(found) - 1)]

    def around(self, *steps: int) -> list[int]:
        """The shots so many rows away, those that there are."""
        found, place = self.shown, self.place
        return [found[place + step] for step in steps if 0 <= place + step < len(found)]

    def behind(self, index: int) -> bool:
        """Whether a shot comes before the one in hand."""
        return self._places_now[index] < self._places_now[self._shots.index]

    def onward(self) -> Sequence[int]:
        """What is asked for, going round from behind the shot in hand to before it."""
        return self._round(self.matching, self.place)

    def everywhere(self) -> Sequence[int]:
        """All other shots, going round from behind the shot in hand."""
        return self._round(self.all, self._places_now[self._shots.index])

    def _round(self, found: tuple[int, ...], place: int) -> Sequence[int]:
        index = self._shots.index
        return [one for one in (*found[place:], *found[:place]) if one != index]
