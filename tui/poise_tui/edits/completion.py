"""The lines that a typed command can become, gone through by Tab."""

from collections.abc import Sequence

from poise_tui.edits.chooser import Listed


class Completion(Listed):
    """The lines, and the one that stands in the prompt.

    Args:
        lines: at least one.
    """

    def __init__(self, lines: Sequence[str]) -> None:
        self._lines, self._place = list(lines), 0

    @property
    def label(self) -> str:
        return "can follow"

    @property
    def names(self) -> list[str]:
        return [line.partition(" ")[2] or line.strip() for line in self._lines]

    @property
    def place(self) -> int:
        return self._place

    @property
    def keys(self) -> tuple[tuple[str, str], ...]:
        return (("tab", "the next"),)

    @property
    def line(self) -> str:
        """The current line."""
        return self._lines[self._place]

    def next(self) -> None:
        """Goes to the next line, after the last to the first."""
        self._place = (self._place + 1) % len(self._lines)
