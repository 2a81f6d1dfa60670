"""The middle while the run of a sequence is looked at: the run, and below it the frame in hand where there is room."""

from poise_tui.draw.arrange.area import LEAST_SCOPE, WIDE, Area, Instrument, over

LEAST_RUN = 16
"""Rows."""


def drift(middle: Area, view: Instrument | None) -> dict[str, Area]:
    """The run over parade and picture; the run alone where there is little room, or what is asked for."""
    if view is not None:
        return {view: middle}
    lower = min(middle.height * 2 // 5, middle.height - LEAST_RUN)
    if middle.width < WIDE or lower < LEAST_SCOPE:
        return {"run": middle}
    return over("run", middle, lower)
