"""The shot list: a scroller that draws only the rows in sight, so ten thousand shots cost what ten do."""

from poise_tui.draw.listing import Row, draw_listing, first_row
from poise_tui.draw.look import Look
from poise_tui.session import Session
from poise_tui.widgets.pane import Pane


class ShotList(Pane):
    """Shows a session's shots around the one in hand."""

    def __init__(self, name: str) -> None:
        super().__init__(name)
        self._first = 0
        self._drawn: tuple[object, ...] = ()

    def show(self, session: Session, levels: dict[int, tuple[float, float]], broken: set[int], look: Look) -> None:
        """Show the shots.

        Args:
            levels: black and white of luma by shot, where they are known.
            broken: shots whose picture can't be read.
        """
        columns, rows = self.room
        self._first = first_row(session.index, len(session.slots), rows - 1, self._first)

        def row_of(index: int) -> Row:
            slot = session.load(index)
            fault = index in broken or slot.fault is not None
            return Row(
                slot.title, slot.decision.state, levels.get(index), index in session.marked, slot.unsaved, fault
            )

        count, first = len(session.slots), self._first
        shown = {index: row_of(index) for index in range(first, min(first + rows, count))}
        drawn = (shown, first, session.index, columns, rows, look)
        if drawn != self._drawn:
            self._drawn = drawn
            self.cells(draw_listing(shown.__getitem__, count, session.index, columns, rows, first), look)
