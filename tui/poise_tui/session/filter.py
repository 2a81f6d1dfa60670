"""Which shots are listed, by state, mark, fault or part of the name, and in what order.

A `Wish` is a value, and its results are tuples of indexes; a shot's index never changes.
"""

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal, get_args

from poise.frames import Shot
from poise.frames.natural import natural
from poise.scopes import Readings
from poise.sidecar.decision import Decision
from poise_tui.session.shot_state import ShotState

Only = Literal["all", "unfinished", "balanced", "held", "skipped", "marked", "faults", "unsure"]
ONLY: tuple[Only, ...] = get_args(Only)
Order = Literal["name", "spread", "cast", "level", "certainty"]
ORDERS: tuple[Order, ...] = get_args(Order)
"""By name; by the largest spread of the parade or the largest cast first; by the level of the median, dark first; by
auto's certainty, the least certain first."""


@dataclass(frozen=True)
class Wish:
    """A filter and an order.

    Attributes:
        text: part of the name, regardless of case.
    """

    only: Only = "all"
    order: Order = "name"
    text: str = ""

    @property
    def narrow(self) -> bool:
        """Whether the filter can exclude shots."""
        return self.only != "all" or bool(self.text)

    @property
    def words(self) -> tuple[str, ...]:
        """The filter and the order in words; empty for all shots by name.

        Example:
            >>> Wish("held", "spread", "quay").words
            ('held', "'quay'", 'by spread')
        """
        only = () if self.only == "all" else (self.only,)
        text = (f"'{self.text}'",) if self.text else ()
        return (*only, *text, *(() if self.order == "name" else (f"by {self.order}",)))


@dataclass(frozen=True)
class Figures:
    """The readings that shots are listed with and ordered by, in per cent; NaN if there is nothing to measure.

    Attributes:
        level, black, white: the median, black and white of luma.
    """

    spread: float
    cast: float
    level: float
    black: float = math.nan
    white: float = math.nan

    @classmethod
    def of(cls, readings: Readings) -> "Figures":
        """The largest spread, the amount of the cast, and the levels of luma."""
        spread, luma = readings.spread, readings.luma
        widest = max(spread.bottom, spread.middle, spread.top)
        return cls(widest, readings.cast.amount, luma.median, luma.black, luma.white)


@dataclass(frozen=True)
class Measured:
    """The figures of a shot and the decision under which they were measured.

    Attributes:
        fine: whether they are of the whole proxy or of every pixel, not of a sample.
    """

    figures: Figures
    decision: Decision
    fine: bool = False


def rank(order: Order, figures: Figures) -> float | None:
    """The sort key of a shot in an order, lowest first; None if it is not known.

    Example:
        >>> rank("spread", Figures(12.5, 3, 40)), rank("level", Figures(12.5, 3, 40))
        (-12.5, 40)
    """
    value = {"spread": -figures.spread, "cast": -figures.cast, "level": figures.level}.get(order)
    return value if value is not None and value == value else None


class NameKeys:
    """Sort keys of shots, in the order of a scan: roots as given, then folders, then names in natural order."""

    def __init__(self) -> None:
        self._roots: dict[Path, int] = {}
        self._folders: dict[tuple[Path, Path], Any] = {}

    def key(self, shot: Shot) -> Any:
        """The key of one shot."""
        first, root = shot.files[0], shot.root
        place = (root, first.parent)
        folder = self._folders.get(place)
        if folder is None:
            parts = tuple(natural(part) for part in shot.relative(first.parent).parts)
            folder = self._folders[place] = (self._roots.setdefault(root, len(self._roots)), parts)
        return folder, natural(first.name)


def ordered(named: Sequence[int], ranks: Mapping[int, float]) -> tuple[int, ...]:
    """Indexes by rank; those without a rank come last, and equal ones stay in order of name.

    Example:
        >>> ordered((0, 1, 2, 3), {1: -8.0, 3: -20.0})
        (3, 1, 0, 2)
    """
    last = float("inf")
    return tuple(sorted(named, key=lambda index: ranks.get(index, last)))


def narrowed(wish: Wish, indexes: Iterable[int], slots: Sequence[ShotState], marked: set[int]) -> tuple[int, ...]:
    """The indexes that match a filter, in the same order; an unread sidecar counts as new."""
    found: Iterable[int] = indexes
    if wish.text:
        wanted = wish.text.casefold()
        found = [index for index in found if wanted in slots[index].shot.name.casefold()]
    if wish.only == "marked":
        found = [index for index in found if index in marked]
    elif wish.only != "all":
        takes = _TAKES[wish.only]
        found = [index for index in found if takes(slots[index])]
    return tuple(found)


_TAKES: Mapping[Only, Callable[[ShotState], bool]] = {
    "unfinished": lambda slot: slot.decision.state == "new",
    "balanced": lambda slot: slot.decision.state == "balanced",
    "held": lambda slot: slot.decision.state == "held",
    "skipped": lambda slot: slot.decision.state == "skipped",
    "unsure": lambda slot: slot.decision.unsure,
    "faults": lambda slot: slot.faulty or slot.beyond,
}
