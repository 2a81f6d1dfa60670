"""The reel: all listed shots side by side, scrolled so that the current one is on screen."""

import numpy as np

from poise_tui.desk import SCALES
from poise_tui.draw.look import Look
from poise_tui.draw.panes.columns import columns
from poise_tui.draw.panes.reel import draw_reel, room
from poise_tui.draw.scopes.traces import CHANNELS
from poise_tui.session.session import Session
from poise_tui.widgets.pane import Pane
from poise_tui.workers.survey import Survey


class ReelView(Pane):
    """Shows the levels of a session's shots."""

    def __init__(self, name: str) -> None:
        super().__init__(name)
        self._first = 0
        self._drawn: tuple[object, ...] = ()

    def show(self, session: Session, survey: Survey, look: Look) -> None:
        """Shows the shots around the current one."""
        width, height = self.room
        reel, each, listed = survey.reel(session.before), session.hand.each, session.listing.shown
        drawn = (reel, listed, session.index, each, session.hand.scale, width, height, look, survey.version)
        if drawn == self._drawn:
            return
        self._drawn = drawn
        count, wide = room(width, -(-len(listed) // each))
        found = columns(
            np.array(listed),
            survey.figures(session.before),
            None if session.before else survey.figures(before=True),
            reel.median,
            reel.outliers,
            survey.faults,
            session.listing.place,
            each,
            count,
            self._first,
        )
        self._first = found.first
        outliers, measured, shots = int(found.outliers.sum()), survey.measured, len(session.slots)
        title = ", ".join(
            part
            for part in (
                f"reel {found.first + 1}-{found.last + 1} of {len(listed)}",
                "" if not session.hand.scale else SCALES[session.hand.scale][0],
                f"{each} shots per column" if each > 1 else "",
                f"{outliers} outlier{'s' * (outliers > 1)}" if outliers else "",
                f"{measured} of {shots} measured" if measured < shots else "",
            )
            if part
        )
        cells = draw_reel(found, wide, max(height - 1, 1), look.able.unicode, session.hand.shown_scale)
        over = tuple((width - 6 + 2 * place, letter, ink) for place, (letter, ink) in enumerate(CHANNELS))
        self.titled(title, "", look.palette.raster(cells), look, over)
