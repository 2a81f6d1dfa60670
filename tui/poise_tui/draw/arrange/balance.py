"""The middle in balance mode: instruments side by side, or one alone."""

from poise_tui.draw.arrange.area import ALONE, GAP, LEAST_SCOPE, WIDE, Area, Instrument


def balance(middle: Area, view: Instrument | None) -> dict[str, Area]:
    """All instruments that fit."""
    x, width, height = middle.x, middle.width, middle.height
    if view is not None:
        return {view: middle}
    if width < WIDE or height < 2 * LEAST_SCOPE:
        if height < 3 * LEAST_SCOPE:
            return {ALONE: middle}
        upper = height // 2
        return {"waveform": Area(x, 0, width, upper), "parade": Area(x, upper, width, height - upper)}
    upper, left = (height + 1) // 2, (width + 1) // 2
    right, at = width - left, x + left
    # Cells are twice as high as wide, and the title takes a row.
    round_ = 2 * (upper - 1) + GAP
    if right - round_ < 11:
        round_ = right
    panes = {
        "waveform": Area(x, 0, left, upper),
        "parade": Area(x, upper, left, height - upper),
        "vectorscope": Area(at, 0, round_, upper),
        "picture": Area(at, upper, right, height - upper),
    }
    if right > round_:
        panes["histogram"] = Area(at + round_, 0, right - round_, upper)
    return panes
