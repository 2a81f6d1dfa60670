"""Curve mode: the curves of all channels, over the histogram of what enters the current one."""

from poise_tui.desk.curve import points_of
from poise_tui.draw.scopes.plot import draw_plot
from poise_tui.measure.view import View
from poise_tui.screens import balance
from poise_tui.screens.panes import Middle, Present


def show(middle: Middle, state: Present, view: View) -> None:
    """Draws the curve, the instruments and the picture."""
    balance.show(middle, state, view)
    if "curve" not in state.areas:
        return
    pane, hand = middle.scopes["curve"], state.session.hand
    correction = state.session.slot.decision.correction
    columns, rows = pane.room
    able = state.look.able
    drawn = draw_plot(
        correction.curves,
        hand.channel,
        hand.at,
        view.entering,
        columns,
        rows - 1,
        able.unicode,
        colourless=able.colours is None,
    )
    title = f"curve of {hand.channel}, {len(points_of(correction, hand))} points"
    pane.trace(drawn, "", state.look, title=title)
