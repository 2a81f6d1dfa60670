"""The middle while shots are seen side by side: the reel, and below it the one in hand where there is room."""

from poise_tui.draw.arrange.area import LEAST_SCOPE, WIDE, Area, Instrument

LEAST_REEL = 17
"""Rows of the reel above which parade and picture have a place below it."""


def reel(middle: Area, view: Instrument | None) -> dict[str, Area]:
    """The reel over parade and picture of the shot in hand; the reel alone where there is little room."""
    if view is not None:
        return {view: middle}
    lower = max(middle.height // 3, LEAST_SCOPE)
    if middle.width < WIDE or middle.height - lower < LEAST_REEL:
        return {"reel": middle}
    upper, left = middle.height - lower, (middle.width + 1) // 2
    return {
        "reel": Area(middle.x, 0, middle.width, upper),
        "parade": Area(middle.x, upper, left, lower),
        "picture": Area(middle.x + left, upper, middle.width - left, lower),
    }
