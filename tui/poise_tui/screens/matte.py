"""Matte mode: picture, vectorscope, ranges, and the list of mattes."""

import numpy as np

from poise.colour.luma import chroma, hue, to_ycbcr, weights
from poise.correction import Matte
from poise_tui.desk import PATCHES
from poise_tui.desk.matte import matte_of, place_of
from poise_tui.draw.panes.mattes import draw_mattes
from poise_tui.draw.panes.patch import figures
from poise_tui.draw.scopes.ranges import draw_ranges
from poise_tui.draw.scopes.traces import draw_vectorscope
from poise_tui.edits.patch import mean_of
from poise_tui.measure.focus import focus_of
from poise_tui.measure.view import Keyed, View
from poise_tui.screens.panes import Middle, Present

TITLES = {"result": "picture", "matte": "matte alone", "keyed": "keyed colour"}


def show(middle: Middle, state: Present, view: View) -> None:
    """Draws everything about the current matte."""
    keyed, look, session = view.keyed, state.look, state.session
    assert keyed is not None
    hand, unicode = session.hand, look.able.unicode
    correction = session.slot.decision.correction
    matte = matte_of(correction, hand)
    inside = focus_of(correction, hand).inside and matte is not None
    square = mean_of(keyed.read, hand.place, PATCHES[hand.patch])
    under = mean_of(keyed.under, hand.place, PATCHES[hand.patch])
    by = weights(session.slot.encoding.work_primaries)
    _, cb, cr = (float(part) for part in to_ycbcr(np.broadcast_to(square, 3), by))
    if "picture" in state.areas:
        shown = "result" if keyed.mask is None else hand.shown
        title = TITLES[shown] + (", inverted" if hand.inverted and shown != "result" else "")
        middle.picture.picture(view.levels, state.key("picture"), look, hand.place, title)
    if "vectorscope" in state.areas:
        drawn = draw_vectorscope(keyed.cloud, unicode, keyed.taken, None if inside else matte, (cb, cr), keyed.gain)
        title = "vectorscope" + (f" x{keyed.gain}" if keyed.gain > 1 else "") + (", result" if inside else ", keyed")
        middle.scopes["vectorscope"].trace(drawn, "", look, title=title)
    if "ranges" in state.areas:
        columns, rows = middle.scopes["ranges"].room
        luma, cb, cr = (float(part) for part in to_ycbcr(np.broadcast_to(under, 3), by))
        at = (float(hue(cb, cr)), float(chroma(cb, cr)), luma)
        cells = draw_ranges(keyed.colours, matte or Matte("new"), at, columns, max(rows - 1, 0), unicode)
        middle.scopes["ranges"].trace(cells, "", look)
    if "mattes" in state.areas:
        columns, rows = middle.mattes.room
        values = (*_coverage(state, keyed), *figures(square))
        place = place_of(correction, hand)
        middle.mattes.cells(draw_mattes(correction.mattes, place, values, columns, rows), look)


def _coverage(state: Present, keyed: Keyed) -> tuple[tuple[str, str, bool], ...]:
    """How much the matte covers, from every pixel once known; a matte that spreads far is a warning."""
    exact = state.coordinator.viewer.exact
    found = exact.coverage if exact and exact.coverage else keyed.coverage
    if found is None:
        return ()
    rough = "" if exact and exact.coverage else " ~"
    return (
        (f"covers{rough}", f"{found.share:.1f} %", False),
        ("spreads far" if found.far else "spread", f"{found.spread:.1f} %", found.far),
        ("key lost", f"{found.lost:.1f} %", False),
    )
