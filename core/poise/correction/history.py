"""Undo and redo of one shot's decisions, without limit, as an immutable value."""

from dataclasses import dataclass
from typing import Generic, TypeVar

T = TypeVar("T")


@dataclass(frozen=True, eq=False, repr=False)
class _Line(Generic[T]):
    """A value and those that lie beyond it; a chain, so that a step costs the same however many came before.

    Comparing or printing it would recurse as deep as it is long, so it does neither.
    """

    value: T
    beyond: "_Line[T] | None"
    length: int


@dataclass(frozen=True, eq=False, repr=False)
class History(Generic[T]):
    """A line of values with a present.

    Example:
        >>> history = History("new").do("held")
        >>> history.undo().present, history.undo().redo().present
        ('new', 'held')
    """

    present: T
    _past: _Line[T] | None = None
    _future: _Line[T] | None = None

    @property
    def depth(self) -> int:
        """How many steps can be undone."""
        return self._past.length if self._past else 0

    @property
    def ahead(self) -> int:
        """How many steps can be done again."""
        return self._future.length if self._future else 0

    def do(self, value: T) -> "History[T]":
        """A new present; what had been undone is given up. The same value again adds no step."""
        if value == self.present:
            return self
        return History(value, _Line(self.present, self._past, self.depth + 1))

    def revised(self, value: T) -> "History[T]":
        """The same line with another present, which is no step."""
        return History(value, self._past, self._future)

    def undo(self) -> "History[T]":
        """One step back; the same history at the start."""
        if self._past is None:
            return self
        return History(self._past.value, self._past.beyond, _Line(self.present, self._future, self.ahead + 1))

    def redo(self) -> "History[T]":
        """One step forward again; the same history at the end."""
        if self._future is None:
            return self
        return History(self._future.value, _Line(self.present, self._past, self.depth + 1), self._future.beyond)
