"""A screen of scrolling text: help, messages, faults and the manual."""

from collections.abc import Sequence

from textual import events
from textual.app import ComposeResult
from textual.screen import Screen

from poise_tui.draw.cells import Cells, Ink, Line
from poise_tui.draw.look import Look
from poise_tui.terminal.cellview import send
from poise_tui.widgets.pane import Pane

WIDE = 66
"""The least width of one column of text where the screen has room for several."""


class TextScreen(Screen[None], inherit_bindings=False):
    """Shows lines; movement keys scroll, any other key goes back."""

    AUTO_FOCUS = ""

    def __init__(self, title: str, lines: Sequence[Line], look: Look, first: int = 0) -> None:
        """Args: first: the line at the top."""
        super().__init__()
        self._title, self._look = title, look
        self._lines = [[(look.able.text(text), ink) for text, ink in line] for line in lines]
        self._first = first

    def compose(self) -> ComposeResult:
        yield Pane("text")

    def on_mount(self) -> None:
        self.styles.overflow_x = self.styles.overflow_y = "hidden"

    def on_cell_view_fitted(self) -> None:
        self._show()

    def on_key(self, event: events.Key) -> None:
        event.stop()
        event.prevent_default()
        if self.app.screen is not self:  # typed after the key that closed this screen
            self.app.screen.post_message(events.Key(event.key, event.character))
            return
        rows = max(self.size.height - 2, 1)
        step = {"down": 1, "up": -1, "pagedown": rows, "pageup": -rows, "space": rows}.get(event.key)
        if step is None:
            self.dismiss()
            return
        self._first = min(max(self._first + step, 0), max(len(self._lines) - rows, 0))
        self._show()

    def on_paste(self, event: events.Paste) -> None:
        event.stop()

    def _show(self) -> None:
        pane = self.query_one(Pane)
        columns, rows = pane.size
        if not rows:
            return
        page, count = max(rows - 1, 1), self._count(columns)
        each = columns // count
        cells = Cells.blank(rows, columns)
        for place, line in enumerate(self._lines[self._first : self._first + page * count]):
            at = place // page * each
            end = at + each - (count > 1)
            for text, ink in line:
                at = cells.write(place % page, at, text, ink, end - at)
        below = max(len(self._lines) - self._first - page * count, 0)
        cells.write(rows - 1, 0, " " * columns, Ink.NONE)
        at = cells.write(rows - 1, 0, f"{self._title}  ", Ink.TITLE)
        scrolls = f"up, down, space scroll ({below} below)   any other key goes back"
        foot = scrolls if self._first or below else "any key goes back"
        cells.write(rows - 1, at, foot, Ink.FAINT)
        pane.cells(cells, self._look)
        send(self, [pane])

    def _count(self, columns: int) -> int:
        """How many columns of text fit side by side."""
        longest = max((sum(len(text) for text, _ in line) for line in self._lines), default=1)
        return max(columns // (max(longest, WIDE) + 1), 1)


def wrapped(lines: Sequence[Line], width: int) -> list[Line]:
    """Lines wrapped at spaces to a width; continuation lines are indented by two cells."""
    broken: list[Line] = []
    for line in lines:
        for text, ink in line:
            row = ""
            for word in text.split(" "):
                if row and len(row) + 1 + len(word) > width:
                    broken.append([(row, ink)])
                    row = f"  {word}"
                else:
                    row = f"{row} {word}" if row else word
            broken.append([(row, ink)])
    return broken
