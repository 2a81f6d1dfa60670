"""The status line and the line of hints below the desk; both are cached, since most nudges change neither."""

from dataclasses import dataclass
from functools import lru_cache

from rich.cells import cell_len

from poise_tui.draw.cells import Cells, Ink

MORE = ":messages"
"""The command that shows a truncated message in full."""


@dataclass(frozen=True)
class Status:
    """The content of the status line.

    Attributes:
        desk: the current bank.
        acts_on: what nudges move.
        save: "saved", "saving" or why not.
        safe: whether everything is on disk, or on its way.
        before: what is switched off in the picture for comparison; empty if nothing is.
        group: how many shots nudges go to; 0 if they go to the current shot only.
        form: what auto and match stay within; empty for no restriction.
        difference: how far the shot is from what it is compared with.
        listed: the filter and order of the list; empty for all shots by name.
        about: name, size and depth of the current picture.
    """

    desk: str
    acts_on: str
    step: float
    source: str
    delivery: str
    undo: int
    redo: int
    save: str
    safe: bool = True
    before: str = ""
    frame: str = ""
    state: str = "new"
    marked: int = 0
    group: int = 0
    form: str = ""
    difference: str = ""
    listed: str = ""
    about: str = ""


@lru_cache(maxsize=8)
def draw_status(status: Status, columns: int) -> Cells:
    """One line; the least important parts are left out first where there is little room."""
    cells = Cells.blank(1, columns)
    same = status.source == status.delivery
    parts = [
        (9, f"GROUP {status.group}" if status.group else "", Ink.WARNING),
        (9, status.before, Ink.WARNING),
        (8, status.save, Ink.FAINT) if status.safe else (10, status.save, Ink.WARNING),
        (7, status.desk, Ink.TITLE),
        (7, status.acts_on, Ink.CHOSEN),
        (6, f"step x{status.step:g}", Ink.TEXT),
        (6.5, status.form, Ink.MARK),
        (6.5, status.difference, Ink.MARK),
        (5, status.source if same else f"{status.source} > {status.delivery}", Ink.TEXT),
        (4, status.frame, Ink.TEXT),
        (3, f"undo {status.undo}" + (f" redo {status.redo}" if status.redo else ""), Ink.FAINT),
        (2, status.state if status.state != "new" else "", Ink.TEXT),
        (2, f"{status.marked} marked" if status.marked and not status.group else "", Ink.MARK),
        (2, f"list: {status.listed}" if status.listed else "", Ink.MARK),
        (1, status.about, Ink.FAINT),
    ]
    shown = [part for part in parts if part[1]]
    while shown and sum(len(text) + 2 for _, text, _ in shown) - 2 > columns and len(shown) > 1:
        shown.remove(min(shown, key=lambda part: part[0]))
    at = 0
    order = [7, 6, 6.5, 5, 4, 3, 2, 9, 8, 10, 1]
    for rank in order:
        for importance, text, ink in shown:
            if importance == rank:
                at = cells.write(0, at, text, ink) + 2
    return cells


@lru_cache(maxsize=8)
def draw_hints(hints: tuple[tuple[str, str], ...], message: str, warning: bool, columns: int) -> Cells:
    """The hints, or a message in their place."""
    cells = Cells.blank(1, columns)
    if message:
        more = f" {MORE}" if cell_len(message) > columns > 4 * len(MORE) else ""
        if more:
            message = message.partition(f"  ({MORE}")[0]  # it is named at the end of the line
        cells.write(0, 0, message, Ink.WARNING if warning else Ink.TEXT, columns - len(more))
        cells.write(0, columns - len(more), more, Ink.KEY)
        return cells
    at = 0
    for key, what in hints:
        if at + len(key) + 1 + len(what) > columns:
            break
        at = cells.write(0, at, key, Ink.KEY) + 1
        at = cells.write(0, at, what, Ink.FAINT) + 2
    return cells
