"""The middle in matte mode: the picture with its cursor, the vectorscope, and the three ranges below."""

from poise_tui.draw.arrange.area import GAP, LEAST_SCOPE, Area, Instrument

RANGES = 7
"""Rows that the ranges need: a title, and for each a line of its distribution and a line of its range."""
NARROWEST = 45
"""The least columns for the vectorscope."""


def matte(middle: Area, view: Instrument | None) -> dict[str, Area]:
    """Picture and vectorscope above the ranges; the picture alone if it is named or there is little room."""
    width, height = middle.width, middle.height
    if view is not None or height < RANGES + LEAST_SCOPE // 2:
        return {view or "picture": middle}
    round_ = 0
    if width >= NARROWEST:
        round_ = min(2 * (height - RANGES - 1) + GAP, max(width // 3, 2 * LEAST_SCOPE))
    left = width - round_
    # a picture of 16:9 in its width, a cell being twice as high as wide, and its title
    upper = min(height - RANGES, max(-(-(left - GAP) * 9 // 32) + 1, round_ // 2 + 1))
    panes = {
        "picture": Area(middle.x, 0, left, upper),
        "ranges": Area(middle.x, upper, width, height - upper),
    }
    if round_:
        panes["vectorscope"] = Area(middle.x + left, 0, round_, upper)
    return panes
