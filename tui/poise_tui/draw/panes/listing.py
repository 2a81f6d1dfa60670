"""The shot list: one row per shot with state, name and two readings, scrolled so that the current row is on screen."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from rich.cells import cell_len

from poise_tui.draw.cells import Cells, Ink
from poise_tui.draw.panes.names import shortened

FIGURED = 24
"""The least columns for readings."""
LEVELS = 7
"""Cells of two readings."""
WIDE = 40
"""The least columns for the certainty of auto beside the readings; in fewer it can stand in their place."""
MARKS = {"new": " ", "balanced": "=", "held": "h", "skipped": "-"}


@dataclass(frozen=True)
class Row:
    """One shot in the list.

    Attributes:
        state: new, balanced, held or skipped.
        levels: black and white of luma in per cent; None until they are known.
        fault: whether the picture or the sidecar has a fault.
        beyond: whether it has delivery faults.
        certainty: of auto's starting point, 0 to 1; None without one.
        reference: whether other shots are compared with it.
        waits: whether levels and delivery faults are those of an earlier decision, and wait to be measured.
    """

    name: str
    state: str = "new"
    levels: tuple[float, float] | None = None
    marked: bool = False
    unsaved: bool = False
    fault: bool = False
    beyond: bool = False
    waits: bool = False
    certainty: float | None = None
    reference: bool = False


def first_row(chosen: int, count: int, rows: int, before: int = 0) -> int:
    """The first row on screen: as before, unless the chosen row would be off screen.

    Example:
        >>> first_row(40, 100, 10), first_row(45, 100, 10, 40)
        (36, 40)
    """
    rows = max(rows, 1)
    first = min(max(before, 0), max(count - rows, 0))
    margin = min(2, (rows - 1) // 2)
    if chosen < first + margin:
        first = chosen - margin
    elif chosen > first + rows - 1 - margin:
        first = chosen - rows + 1 + margin if before else chosen - max(rows // 2 - 1, 0)
    return min(max(first, 0), max(count - rows, 0))


def draw_listing(
    row_of: Callable[[int], Row],
    count: int,
    chosen: int,
    columns: int,
    rows: int,
    first: int,
    head: str = "",
    fitted: Callable[[str, int], str] = shortened,
    sure: bool = False,
) -> Cells:
    """The rows on screen; only those are asked for, however long the list.

    State: = balanced, h held, - skipped; + marked, T the reference, ! fault, * not saved yet. After the name: ! a
    delivery fault, ~ the figures are those of an earlier decision.

    Args:
        head: the title; by default the position in the list.
        sure: whether the certainty of auto stands in place of the readings where there is no room for both.
        fitted: brings a name into a number of cells.
    """
    cells = Cells.blank(rows, columns)
    at = cells.write(0, 0, head or title(chosen, count, count, (), columns), Ink.TITLE)
    heads = _heads(columns, sure)
    if heads and at < columns - len(heads) - 2:
        cells.write(0, columns - len(heads) - 2, heads, Ink.FAINT)
    for line, index in enumerate(range(first, min(first + rows - 1, count)), 1):
        shown = row_of(index)
        ink = Ink.CHOSEN if index == chosen else Ink.TEXT
        if index == chosen:
            cells.write(line, 0, " " * columns, ink)
        if shown.fault:
            cells.put(line, 0, "!", Ink.CHOSEN if index == chosen else Ink.WARNING)
        else:
            cells.put(line, 0, MARKS[shown.state], Ink.CHOSEN if index == chosen else Ink.KEY)
        second = "*" if shown.unsaved else "T" if shown.reference else "+" if shown.marked else ""
        if columns > 1 and second:
            cells.put(line, 1, second, Ink.CHOSEN if index == chosen else Ink.MARK)
        figures = _figures(shown, columns, sure)
        mark = "~" if shown.waits else "!" if shown.beyond else ""
        behind = columns - 2 - (len(heads) + 1 if heads else 0)  # whether their readings are known or not
        room = behind - 2 if mark or figures else columns - 3
        dull = ink if index == chosen or shown.state == "new" else Ink.FAINT
        cells.write(line, 2, fitted(shown.name, room), dull)
        if mark and behind > 2:
            bright = Ink.FAINT if shown.waits else Ink.WARNING
            cells.put(line, behind, mark, Ink.CHOSEN if index == chosen else bright)
        cells.write(line, columns - len(figures) - 1, figures, Ink.CHOSEN if index == chosen else Ink.FAINT)
    return cells


def title(chosen: int | None, listed: int, every: int, words: Sequence[str], columns: int) -> str:
    """The position in the list and its filter, as far as they fit; the filter takes precedence over the total.

    Args:
        chosen: the current row; None if the current shot does not match the filter.

    Example:
        >>> title(2, 12, 200, ("held",), 30), title(None, 12, 200, ("unfinished",), 20)
        ('shots 3/12 of 200, held', '-/12, unfinished')
    """
    place = f"{'-' if chosen is None else chosen + 1}/{listed}"
    what = "".join(f", {word}" for word in words)
    of = "" if listed == every else f" of {every}"
    forms = (f"shots {place}{of}{what}", f"{place}{of}{what}", f"{place}{what}")
    return next((form for form in forms if cell_len(form) <= columns), shortened(forms[-1], columns))


def _heads(columns: int, sure: bool) -> str:
    """The names of the figures in a list; empty where there is no room for any."""
    if columns < FIGURED:
        return ""
    return "sure blk wht" if columns >= WIDE else f"{'sure':>{LEVELS}}" if sure else "blk wht"


def _figures(row: Row, columns: int, sure: bool) -> str:
    """The figures of a row below their names; empty if none is known."""
    levels = f"{row.levels[0]:3.0f}{row.levels[1]:4.0f}" if row.levels else ""
    certainty = f"{100 * row.certainty:.0f}" if row.certainty is not None else ""
    if columns < FIGURED or not (levels or certainty):
        return ""
    if columns >= WIDE:
        return f"{certainty:>4} {levels:>{LEVELS}}"
    return f"{certainty:>{LEVELS}}" if sure else levels
