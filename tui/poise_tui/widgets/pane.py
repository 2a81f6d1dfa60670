"""A pane: cells in the colours of a look."""

from poise_tui.draw.cells import Cells, Ink
from poise_tui.draw.look import Look
from poise_tui.draw.raster import Raster
from poise_tui.widgets.cellview import CellView


class Pane(CellView):
    """Shows cells."""

    def cells(self, cells: Cells, look: Look) -> None:
        """Show cells in a look's colours."""
        self.paint(look.palette.raster(cells), look.ground)

    def titled(self, title: str, key: str, raster: Raster, look: Look, over: Cells | None = None) -> None:
        """Show a raster below a line with a title and the key that shows it alone.

        Args:
            over: one line of letters that stand over the raster; the title gives way to them.
        """
        columns, rows = self.size
        head = Cells.blank(1, columns)
        room = columns
        if over is not None:
            head.paste(0, 0, over)
            room = next((i for i, ink in enumerate(over.inks[0].tolist()) if ink), columns)
        at = head.write(0, 0, title, Ink.TITLE, max(room - len(key) - 2, 0))
        head.write(0, at + bool(at), key, Ink.KEY, max(room - at, 0))
        whole = Raster.blank(rows, columns, look.ground)
        whole.lay(0, 0, look.palette.raster(head))
        whole.lay(1, 0, raster)
        self.paint(whole, look.ground)
