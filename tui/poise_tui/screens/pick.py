"""Pick mode: the instruments, the picture with its cursor, and the values of the patch under it."""

from poise_tui.desk import PATCHES
from poise_tui.draw.panes.patch import draw_patch
from poise_tui.edits.patch import patch
from poise_tui.measure.view import View
from poise_tui.screens import balance
from poise_tui.screens.panes import Middle, Present


def show(middle: Middle, state: Present, view: View) -> None:
    """Draws the instruments, the picture and the patch."""
    balance.scopes(middle, state, view)
    hand = state.session.hand
    if "picture" in state.areas:
        middle.picture.picture(view.levels, state.key("picture"), state.look, hand.place, marks=hand.corners)
    if "patch" in state.areas:
        columns, rows = middle.patch.room
        square = patch(view.levels, hand.place, PATCHES[hand.patch])
        middle.patch.cells(draw_patch(square, PATCHES[hand.patch], columns, rows), state.look)
