"""The middle in curve mode: the curve, and its result beside it."""

from poise_tui.draw.arrange.area import LEAST_SCOPE, WIDE, Area, Instrument


def curve(middle: Area, view: Instrument | None) -> dict[str, Area]:
    """The curve beside parade and picture; the curve alone where there is little room, or one instrument if named."""
    if view is not None:
        return {view: middle}
    if middle.width < WIDE or middle.height < 2 * LEAST_SCOPE:
        return {"curve": middle}
    upper, left = (middle.height + 1) // 2, (middle.width + 1) // 2
    right, at = middle.width - left, middle.x + left
    return {
        "curve": Area(middle.x, 0, left, middle.height),
        "parade": Area(at, 0, right, upper),
        "picture": Area(at, upper, right, middle.height - upper),
    }
