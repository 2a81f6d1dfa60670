"""A pane: cells in the colours of a look."""

from functools import lru_cache

from poise_tui.draw.arrange import GAP
from poise_tui.draw.cells import Cells, Ink
from poise_tui.draw.look import Look
from poise_tui.draw.raster import Raster
from poise_tui.draw.scopes.traces import Marks
from poise_tui.terminal.cellview import CellView


class Pane(CellView):
    """Shows cells.

    Attributes:
        before: what is switched off in what the pane shows, in capitals ahead of its title; empty if nothing is.
    """

    before = ""

    @property
    def room(self) -> tuple[int, int]:
        """Columns and rows to draw on: all except the blank column between panes."""
        return self.size.width - GAP, self.size.height

    def cells(self, cells: Cells, look: Look) -> None:
        """Shows cells in a look's colours."""
        self.paint(look.palette.raster(cells), look.ground)

    def titled(self, title: str, key: str, raster: Raster, look: Look, over: Marks = (), indent: int = 0) -> None:
        """Shows a raster below a line with a title and the key that shows it alone.

        Args:
            over: column, letter and ink of letters in the title line, which take precedence over the title.
        """
        columns, rows = self.size
        whole = Raster.blank(rows, columns, look.ground)
        whole.lay(0, 0, heading(title, key, columns, over, look, self.before))
        whole.lay(1, indent, raster)
        self.paint(whole, look.ground)


@lru_cache(maxsize=32)
def heading(title: str, key: str, columns: int, over: Marks, look: Look, before: str = "") -> Raster:
    """The title line: what is switched off goes first and whole, the key comes last, and the title gets the rest.

    Letters that touch what is switched off are left out.
    """
    head = Cells.blank(1, columns)
    for column, letter, ink in over:
        if column > len(before):
            head.write(0, column, letter, ink)
    room = over[0][0] - 1 if over else columns
    at = head.write(0, 0, before, Ink.WARNING) + 1 if before else 0
    at = head.write(0, at, _shortened(title, room - at - len(key) - 1), Ink.TITLE)
    head.write(0, at + bool(at), key, Ink.KEY, max(room - at, 0))
    return look.palette.raster(head)


def _shortened(title: str, room: int) -> str:
    """The first words of a title that fit; empty if none does.

    Example:
        >>> _shortened("vectorscope, keyed", 17), _shortened("histogram", 3)
        ('vectorscope', '')
    """
    words = title.split(" ")
    fits = (" ".join(words[:count]) for count in range(len(words), 0, -1))
    return next((text for text in fits if len(text) <= room), "").rstrip(",| ")
