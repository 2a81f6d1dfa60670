"""The list of a shot's mattes, and below it the values of the current one."""

from functools import lru_cache

from rich.cells import cell_len, set_cell_size

from poise.correction import Matte
from poise_tui.draw.cells import Cells, Ink
from poise_tui.draw.panes.listing import first_row
from poise_tui.draw.panes.names import shortened

NEW = "+ new"
NAME = 4
"""The column in which names begin, after two marks, the number and a blank."""
Figure = tuple[str, str, bool]


@lru_cache(maxsize=8)
def draw_mattes(mattes: tuple[Matte, ...], chosen: int, figures: tuple[Figure, ...], columns: int, rows: int) -> Cells:
    """A title, one row per matte, and one row per value; if rows are few, mattes scroll and values get at least half.

    Marks: = on, - off, followed by ~ if inverted.

    Args:
        chosen: the current matte; the number of mattes means one still to be made, which has a row of its own.
        figures: label, value, and whether it is a warning.
    """
    cells = Cells.blank(rows, columns)
    new = chosen == len(mattes)
    cells.write(0, 0, f"mattes {len(mattes)}" if new else f"mattes {chosen + 1}/{len(mattes)}", Ink.TITLE)
    entries, room = len(mattes) + new, rows - 1
    given = min(len(figures), max(room - entries, rows // 2), max(room - 1, 0))  # the current matte comes first
    shown = min(entries, max(room - given, 1))
    first = first_row(chosen, entries, shown)
    for line, index in enumerate(range(first, first + shown), 1):
        _row(cells, line, index, mattes[index] if index < len(mattes) else None, index == chosen)
    below = rows - given if shown + given >= room else shown + 2  # a blank row between, if there is room
    for line, figure in enumerate(figures[:given], below):
        _figure(cells, line, figure)
    return cells


def _row(cells: Cells, line: int, index: int, matte: Matte | None, chosen: bool) -> None:
    columns = cells.shape[1]
    if chosen:
        cells.write(line, 0, " " * columns, Ink.CHOSEN)
    if matte is None:
        cells.write(line, 0, NEW, Ink.CHOSEN if chosen else Ink.TEXT)
        return
    dull = Ink.TEXT if matte.on else Ink.FAINT
    parts = (
        (0, ("=" if matte.on else "-") + ("~" if matte.invert else " "), Ink.KEY),
        (2, str(index + 1), Ink.FAINT),
        (NAME, shortened(matte.name, columns - NAME), dull),
    )
    for column, text, ink in parts:
        cells.write(line, column, text, Ink.CHOSEN if chosen else ink)


def _figure(cells: Cells, line: int, figure: Figure) -> None:
    """Label left, value right; the label is cut first, since the value is what changes."""
    label, value, warning = figure
    columns = cells.shape[1]
    if cell_len(value) > columns:
        value = set_cell_size(value, columns)
    start = columns - cell_len(value)
    cells.write(line, 0, label, Ink.FAINT, max(start - 1, 0))
    cells.write(line, start, value, Ink.WARNING if warning else Ink.TEXT)
