"""The readings of the current shot."""

from collections.abc import Sequence

from poise.delivery.fault import Fault
from poise.scopes import Readings
from poise_tui.draw.look import Look
from poise_tui.draw.panes.figures import draw_figures
from poise_tui.widgets.pane import Pane


class ReadingsView(Pane):
    """Shows readings as a small table."""

    def show(self, readings: Readings | None, exact: bool, faults: Sequence[Fault], look: Look) -> None:
        """Shows readings, None until there are any, and delivery faults."""
        columns, rows = self.room
        self.cells(draw_figures(readings, exact, columns, rows, faults, self.before), look)
