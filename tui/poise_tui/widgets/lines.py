"""The two lines at the bottom: status, and hints or a message."""

from poise_tui.draw.look import Look
from poise_tui.draw.panes.status import Status, draw_hints, draw_status
from poise_tui.widgets.pane import Pane


class StatusLine(Pane):
    """Shows the state of the desk and of saving."""

    def show(self, status: Status, look: Look) -> None:
        self.cells(draw_status(status, self.size.width), look)


class HintLine(Pane):
    """Shows the most useful keys, or a message in their place."""

    def show(self, hints: tuple[tuple[str, str], ...], message: str, warning: bool, look: Look) -> None:
        self.cells(draw_hints(hints, look.able.text(message), warning, self.size.width), look)
