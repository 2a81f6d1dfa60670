"""The picture itself, two pixels a cell in half blocks, or as ASCII tones where there is no colour."""

from typing import Any

import numpy as np
import numpy.typing as npt

from poise_tui.draw.capability import Colours
from poise_tui.draw.pens import DEFAULT, pens
from poise_tui.draw.plain import tones
from poise_tui.draw.raster import Raster

UPPER_HALF = 0x2580
"""Unicode, Block Elements: the foreground is the upper pixel, the background the lower."""
STEPS = 32
"""Levels a channel: with 64 a nudge changes twice as many cells, and no terminal's picture is to be trusted anyway."""


def fitted(width: int, height: int, columns: int, rows: int) -> tuple[int, int]:
    """The columns and rows of cells that a picture takes, a cell being twice as high as wide; at least one each.

    Example:
        >>> fitted(1920, 1080, 40, 40)
        (40, 11)
    """
    scale = min(columns / width, 2 * rows / height)
    return max(1, round(width * scale)), max(1, round(height * scale / 2))


def coloured(colours: Colours, unicode: bool) -> bool:
    """Whether a picture is drawn in colours: sixteen of them ruin it, and its tones read better as characters."""
    return unicode and colours in ("truecolor", "256")


def draw_picture(
    levels: npt.NDArray[Any], columns: int, rows: int, colours: Colours, unicode: bool = True
) -> Raster:
    """Draw a picture in at most `columns` by `rows` cells.

    Args:
        levels: (height, width, 1 or 3) 0..1, encoded for display.
    """
    across, down = fitted(levels.shape[1], levels.shape[0], max(columns, 1), max(rows, 1))
    if not coloured(colours, unicode):
        lines = tones(sampled(levels, across, down).mean(axis=2))
        glyphs = np.array([list(line) for line in lines], "<U1").view(np.uint32).reshape(down, across)
        blank = Raster.blank(down, across)
        return Raster(glyphs, blank.fore, blank.back, blank.attributes)
    small = np.clip(np.nan_to_num(sampled(levels, across, 2 * down)), 0, 1)
    stepped = np.rint(np.rint(small * (STEPS - 1)) * (255 / (STEPS - 1)))
    points = pens(np.broadcast_to(stepped, (*small.shape[:2], 3)), colours)
    upper, lower = points[0::2], points[1::2]
    same = upper == lower
    glyphs = np.where(same, ord(" "), UPPER_HALF).astype(np.uint32)
    fore = np.where(same, DEFAULT, upper).astype(np.int32)
    return Raster(glyphs, fore, np.ascontiguousarray(lower), np.zeros(glyphs.shape, np.uint8))


def sampled(levels: npt.NDArray[Any], columns: int, rows: int) -> npt.NDArray[Any]:
    """Rows and columns picked out evenly: a view of nothing that the scopes did not count."""
    height, width = levels.shape[:2]
    picked: npt.NDArray[Any] = levels[np.arange(rows) * height // rows][:, np.arange(columns) * width // columns]
    return picked
