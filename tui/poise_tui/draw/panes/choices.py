"""The list of a chooser: names, the chosen one marked, and the keys that matter."""

from collections.abc import Callable, Sequence

from rich.cells import cell_len

from poise_tui.draw.cells import Cells, Ink
from poise_tui.draw.panes.listing import first_row
from poise_tui.draw.panes.names import shortened

ROOMY = 10
"""The least rows for the keys below the list."""


def draw_choices(
    title: str,
    names: Sequence[str],
    note: Callable[[str], str],
    place: int,
    keys: Sequence[tuple[str, str]],
    columns: int,
    rows: int,
) -> Cells:
    """The names around the chosen one.

    Args:
        note: returns a word about a name.
        keys: keys and what they do, below the list if there is room.
    """
    cells = Cells.blank(rows, columns)
    at = f"{place + 1}/{len(names)}" if names else "none"
    cells.write(0, 0, f"{title} {at}", Ink.TITLE)
    foot = len(keys) if rows >= ROOMY else 0
    for row, (key, does) in enumerate(keys[:foot], rows - foot):
        cells.write(row, cells.write(row, 0, key, Ink.KEY) + 1, does, Ink.FAINT)
    room = rows - 1 - foot
    first = first_row(place, len(names), room)
    for row, name in enumerate(names[first : first + room], 1):
        here = first + row - 1 == place
        ink = Ink.CHOSEN if here else Ink.TEXT
        if here:
            cells.write(row, 0, ">" + " " * (columns - 1), ink)
        word = note(name)
        cells.write(row, 2, shortened(name, columns - 2 - (len(word) + 1 if word else 0)), ink)
        cells.write(row, columns - cell_len(word), word, ink if here else Ink.FAINT)
    return cells
