"""The help screen: every key and command, made from the registry; it scrolls where it does not fit."""

from itertools import groupby

from textual import events
from textual.app import ComposeResult
from textual.screen import Screen

from poise_tui.actions import ACTIONS, COLUMNS, MOVES, column
from poise_tui.commandline import COMMANDS
from poise_tui.draw.cells import Cells, Ink
from poise_tui.draw.look import Look
from poise_tui.keymap import Keymap
from poise_tui.widgets.cellview import send
from poise_tui.widgets.pane import Pane

Line = list[tuple[str, Ink]]

KEYS = 12
"""Cells that keys take before what they do."""
WIDE = 66
"""Cells that a line takes where there is room for two beside each other."""


def lines(keys: Keymap) -> list[Line]:
    """The whole text, a line each."""
    text: list[Line] = [
        [("Steer by scopes and readings, never by the picture.", Ink.TEXT)],
    ]
    text += [[], [("desk", Ink.TITLE), (": raise, neutral, lower", Ink.FAINT)]]
    for name in COLUMNS:
        three = " ".join(keys.shown(f"{name}.{move}") for move in MOVES)
        text.append([(f"{three:<{KEYS}}", Ink.KEY), (column(name), Ink.TEXT)])
    for group, actions in groupby((one for one in ACTIONS if one.group != "desk"), key=lambda one: one.group):
        text += [[], [(group, Ink.TITLE)]]
        text += [[(f"{keys.shown(one.name):<{KEYS}}", Ink.KEY), (one.does, Ink.TEXT)] for one in actions]
    text += [[], [("commands, after ", Ink.TITLE), (keys.first("command"), Ink.KEY)]]
    for command in COMMANDS:
        text.append([(f"{command.usage:<26}", Ink.KEY), (command.does, Ink.TEXT)])
    marks = "= balanced   h held   - skipped   + marked   * not saved yet   ! something is wrong"
    return [*text, [], [("in the list", Ink.TITLE)], [(marks, Ink.TEXT)]]


class HelpScreen(Screen[None], inherit_bindings=False):
    """Shows help; keys that move scroll, any other goes back."""

    AUTO_FOCUS = ""

    def __init__(self, keys: Keymap, look: Look) -> None:
        super().__init__()
        self._look = look
        self._lines = lines(keys)
        self._first = 0

    def compose(self) -> ComposeResult:
        yield Pane("help")

    def on_mount(self) -> None:
        self.styles.overflow_x = self.styles.overflow_y = "hidden"

    def on_resize(self, event: events.Resize) -> None:
        self.call_after_refresh(self._show)

    def on_key(self, event: events.Key) -> None:
        event.stop()
        event.prevent_default()
        if not self.is_current:  # typed behind the key that went back, so not meant for help
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
        cells = Cells.blank(rows, columns)
        page = max(rows - 1, 1)
        beside = max(columns // WIDE, 1)
        for place, line in enumerate(self._lines[self._first : self._first + page * beside]):
            row, at = place % page, place // page * WIDE
            for text, ink in line:
                at = cells.write(row, at, text, ink, columns if beside == 1 else WIDE * (place // page + 1) - 1 - at)
        below = len(self._lines) - self._first - page * beside
        foot = f"help: up, down and space scroll ({max(below, 0)} lines below); any other key goes back"
        cells.write(rows - 1, 0, foot, Ink.TITLE)
        pane.cells(cells, self._look)
        send(self, [pane])
