"""The list of a chooser, in place of the shots."""

from poise_tui.draw.look import Look
from poise_tui.draw.panes.choices import draw_choices
from poise_tui.edits.chooser import Listed
from poise_tui.widgets.pane import Pane


class Choices(Pane):
    """Shows what can be chosen."""

    def show(self, listed: Listed, look: Look) -> None:
        """Shows the names around the current one."""
        self.cells(draw_choices(listed.label, listed.names, listed.note, listed.place, listed.keys, *self.room), look)
