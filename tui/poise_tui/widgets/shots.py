"""The shot list, which draws only the rows on screen, so that ten thousand shots cost no more than ten."""

from poise_tui.draw.look import Look
from poise_tui.draw.panes.listing import Row, draw_listing, first_row, title
from poise_tui.draw.panes.names import Names
from poise_tui.session.session import Session
from poise_tui.widgets.pane import Pane

SETTLING = 4
"""How many times the rows on screen are determined, since reading their sidecars can take shots off the list."""


class ShotList(Pane):
    """Shows the listed shots around the current one."""

    def __init__(self, name: str) -> None:
        super().__init__(name)
        self._first = 0
        self._chosen = (0, 0)
        self._drawn: tuple[object, ...] = ()
        self._named: tuple[int, ...] = ()
        self._names = Names(())

    def show(self, session: Session, look: Look) -> None:
        """Shows the shots."""
        columns, rows = self.room
        listing, index = session.listing, session.index
        for _ in range(SETTLING):
            shown, place, known = listing.shown, listing.place, session.revision
            first = first_row(place, len(shown), rows - 1, self._first)
            for one in shown[first : first + rows]:
                session.load(one)
            if session.revision == known:
                break
        if self._chosen[0] == index:
            self._first += place - self._chosen[1]  # the current row stays in place while others come and go above it
        self._chosen = (index, place)
        self._first = first_row(place, len(shown), rows - 1, self._first)

        def row_of(index: int) -> Row:
            slot = session.load(index)
            marked = index in session.marked
            state, known = slot.decision.state, listing.figures(index)
            levels = (known.black, known.white) if known else None
            return Row(
                slot.title,
                state,
                levels,
                marked,
                slot.unsaved,
                slot.faulty,
                slot.beyond,
                listing.waits(index),
                slot.decision.certainty,
                slot is session.reference,
            )

        if self._named is not listing.named:
            self._named = listing.named
            self._names = Names(slot.shot.name for slot in session.slots)
        count, first = len(shown), self._first
        inside = {place: row_of(shown[place]) for place in range(first, min(first + rows, count))}
        at, words = place if listing.holds else None, listing.wish.words
        head = title(at, len(listing.matching), len(session.slots), words, columns)
        sure = listing.wish.only == "unsure" or listing.wish.order == "certainty"
        drawn = (sure, inside, first, place, head, columns, rows, look)
        if drawn != self._drawn:
            self._drawn = drawn
            fitted = self._names.fitted
            self.cells(draw_listing(inside.__getitem__, count, place, columns, rows, first, head, fitted, sure), look)
