"""The middle in pick mode: the picture with its cursor, and the instruments that show whether a patch is grey."""

from poise_tui.draw.arrange.area import LEAST_SCOPE, WIDE, Area, Instrument


def pick(middle: Area, view: Instrument | None) -> dict[str, Area]:
    """The picture above the waveform, beside parade and vectorscope; the picture alone where there is little room."""
    if view is not None or middle.width < WIDE or middle.height < 2 * LEAST_SCOPE:
        return {view or "picture": middle}
    upper, left = (middle.height + 1) // 2, middle.width * 5 // 9
    right, at = middle.width - left, middle.x + left
    return {
        "picture": Area(middle.x, 0, left, upper),
        "waveform": Area(middle.x, upper, left, middle.height - upper),
        "parade": Area(at, 0, right, upper),
        "vectorscope": Area(at, upper, right, middle.height - upper),
    }
