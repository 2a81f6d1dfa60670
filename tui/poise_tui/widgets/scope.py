"""A scope: one instrument's trace under its title."""

from poise_tui.draw.cells import Cells, Ink
from poise_tui.draw.look import Look
from poise_tui.draw.scopes.traces import Marks
from poise_tui.widgets.pane import Pane


class Scope(Pane):
    """Waveform, parade, vectorscope or histogram."""

    def trace(self, cells: Cells, key: str, look: Look, over: Marks = (), title: str = "") -> None:
        """Shows a trace in the middle of the pane, with a line of letters above it.

        Args:
            title: the pane's name if empty.
        """
        indent = (self.room[0] - cells.shape[1]) // 2 if not over else 0
        self.titled(title or self.id or "", key, look.palette.raster(cells), look, over, max(indent, 0))

    def message(self, text: str, key: str, look: Look, warning: bool = False) -> None:
        """Shows why there is no trace, wrapped to the pane."""
        columns, rows = self.room
        cells = Cells.blank(max(rows - 1, 0), columns)
        words, row, at = text.split(), 0, 0
        for word in words:
            if at and at + len(word) > columns:
                row, at = row + 1, 0
            at = cells.write(row, at, word, Ink.WARNING if warning else Ink.FAINT) + 1
        self.titled(self.id or "", key, look.palette.raster(cells), look)
