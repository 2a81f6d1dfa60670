"""The magnifier: the surroundings of the cursor, enlarged, in the corner of the picture that is farthest from it."""

from typing import Any

import numpy.typing as npt

from poise_tui.draw.capability import Colours
from poise_tui.draw.raster import Raster
from poise_tui.draw.scopes.picture import Place, draw_picture

PART = 0.4
"""Of the picture's columns and rows."""
NARROWEST, LOWEST = 10, 4
"""The least useful columns and rows."""
ACROSS, DOWN = 2, 4
"""Pixels that a cell of it shows: a cell is twice as high as wide."""


def with_magnifier(
    picture: Raster, levels: npt.NDArray[Any], at: Place, colours: Colours, unicode: bool = True
) -> Raster:
    """A drawn picture with its magnifier; without one if there is little room, or if it would enlarge nothing.

    Args:
        levels: (height, width, 1 or 3) what the picture was drawn from.
        at: the cursor, 0..1 from left to right and from top to bottom.
    """
    rows, columns = (int(PART * side) for side in picture.shape)
    height, width = levels.shape[:2]
    wide, high = ACROSS * columns, DOWN * rows
    if columns < NARROWEST or rows < LOWEST or 2 * wide > width or 2 * high > height:
        return picture
    x, y = min(max(at[0], 0), 1) * width, min(max(at[1], 0), 1) * height
    left, top = (
        int(min(max(0, middle - part / 2), whole - part))
        for middle, part, whole in ((x, wide, width), (y, high, height))
    )
    crop = levels[top : top + high, left : left + wide]
    inset = draw_picture(crop, columns, rows, colours, unicode, ((x - left) / wide, (y - top) / high))
    framed = Raster.blank(rows + 1, columns + 1)
    right, below = at[0] < 0.5, at[1] < 0.5
    framed.lay(int(below), int(right), inset)
    whole = Raster.blank(*picture.shape)
    whole.lay(0, 0, picture)
    whole.lay((picture.shape[0] - rows - 1) * below, (picture.shape[1] - columns - 1) * right, framed)
    return whole
