"""The middle while the run of a sequence is looked at: the run, and below it the frame in hand where there is room."""

from poise_tui.draw.arrange.area import LEAST_SCOPE, WIDE, Area, Instrument

LEAST_RUN = 16
"""Rows."""


def drift(middle: Area, view: Instrument | None) -> dict[str, Area]:
    """The run over parade and picture; the run alone where there is little room, or what is asked for."""
    if view is not None:
        return {view: middle}
    lower = min(middle.height * 2 // 5, middle.height - LEAST_RUN)
    if middle.width < WIDE or lower < LEAST_SCOPE:
        return {"run": middle}
    at, left = middle.height - lower, (middle.width + 1) // 2
    return {
        "run": Area(middle.x, 0, middle.width, at),
        "parade": Area(middle.x, at, left, lower),
        "picture": Area(middle.x + left, at, middle.width - left, lower),
    }
