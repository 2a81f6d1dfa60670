"""Undo and redo of one shot's decisions, without limit, as an immutable value."""

from dataclasses import dataclass
from typing import Generic, TypeVar

T = TypeVar("T")


@dataclass(frozen=True, eq=False, repr=False)
class _Node(Generic[T]):
    """A node of a linked list, so that a step costs the same however long the history is.

    Neither compared nor printed, since both would recurse through the whole list.
    """

    value: T
    next: "_Node[T] | None"
    length: int


@dataclass(frozen=True, eq=False, repr=False)
class History(Generic[T]):
    """The present value, with those before it to undo and those after it to redo.

    Example:
        >>> history = History("new").do("held")
        >>> history.undo().present, history.undo().redo().present
        ('new', 'held')
    """

    present: T
    _past: _Node[T] | None = None
    _future: _Node[T] | None = None

    @property
    def depth(self) -> int:
        """The number of steps that can be undone."""
        return self._past.length if self._past else 0

    @property
    def ahead(self) -> int:
        """The number of steps that can be redone."""
        return self._future.length if self._future else 0

    def do(self, value: T) -> "History[T]":
        """The history with a new present and nothing to redo; the same history if the value equals the present."""
        if value == self.present:
            return self
        return History(value, _Node(self.present, self._past, self.depth + 1))

    def revised(self, value: T) -> "History[T]":
        """The same line with another present, which is no step."""
        return History(value, self._past, self._future)

    def undo(self) -> "History[T]":
        """The history one step back; the same history at the start."""
        if self._past is None:
            return self
        return History(self._past.value, self._past.next, _Node(self.present, self._future, self.ahead + 1))

    def redo(self) -> "History[T]":
        """The history one step forward; the same history at the end."""
        if self._future is None:
            return self
        return History(self._future.value, _Node(self.present, self._past, self.depth + 1), self._future.next)
