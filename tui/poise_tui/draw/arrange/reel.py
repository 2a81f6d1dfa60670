"""The middle while shots are seen side by side: the reel, and below it the one in hand where there is room."""

from poise_tui.draw.arrange.area import LEAST_SCOPE, WIDE, Area, Instrument, over

LEAST_REEL = 17
"""Rows of the reel above which parade and picture have a place below it."""


def reel(middle: Area, view: Instrument | None) -> dict[str, Area]:
    """The reel over parade and picture of the shot in hand; the reel alone where there is little room."""
    if view is not None:
        return {view: middle}
    lower = max(middle.height // 3, LEAST_SCOPE)
    if middle.width < WIDE or middle.height - lower < LEAST_REEL:
        return {"reel": middle}
    return over("reel", middle, lower)
