"""The list of a chooser, in place of the shots."""

from poise_tui.draw.look import Look
from poise_tui.draw.panes.choices import draw_choices
from poise_tui.edits.chooser import Chooser
from poise_tui.widgets.pane import Pane


class Choices(Pane):
    """Shows what can be chosen."""

    def show(self, chooser: Chooser, look: Look) -> None:
        """Shows the names around the chosen one."""
        columns, rows = self.room
        turns = (("tab", chooser.turns),) if chooser.turns else ()
        keys = (("up down", "choose"), *turns, ("enter", "take"), ("escape", "leave as it was"))
        cells = draw_choices(chooser.label, chooser.names, chooser.note, chooser.place, keys, columns, rows)
        self.cells(cells, look)
