"""The middle in reel mode: the reel, and the current shot below it if there is room."""

from poise_tui.draw.arrange.area import LEAST_SCOPE, WIDE, Area, Instrument, over

LEAST_REEL = 17
"""The rows that the reel needs before parade and picture get a place below it."""


def reel(middle: Area, view: Instrument | None) -> dict[str, Area]:
    """The reel above parade and picture of the current shot; the reel alone where there is little room."""
    if view is not None:
        return {view: middle}
    lower = max(middle.height // 3, LEAST_SCOPE)
    if middle.width < WIDE or middle.height - lower < LEAST_REEL:
        return {"reel": middle}
    return over("reel", middle, lower)
