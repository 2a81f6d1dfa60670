"""The middle in drift mode: the run of the sequence, and the current frame below it if there is room."""

from poise_tui.draw.arrange.area import LEAST_SCOPE, WIDE, Area, Instrument, over

LEAST_RUN = 16
"""Rows."""


def drift(middle: Area, view: Instrument | None) -> dict[str, Area]:
    """The run above parade and picture; the run alone where there is little room, or one instrument if named."""
    if view is not None:
        return {view: middle}
    lower = min(middle.height * 2 // 5, middle.height - LEAST_RUN)
    if middle.width < WIDE or lower < LEAST_SCOPE:
        return {"run": middle}
    return over("run", middle, lower)
