"""The picture itself, two pixels a cell in half blocks, or as ASCII tones where there is no colour."""

from collections.abc import Sequence
from typing import Any

import numpy as np
import numpy.typing as npt

from poise.colour.luma import BT709
from poise_tui.draw.capability import Colours
from poise_tui.draw.pens import DEFAULT, pens
from poise_tui.draw.plain import tones
from poise_tui.draw.raster import REVERSE, Raster

UPPER_HALF = 0x2580
"""Unicode, Block Elements: the foreground is the upper pixel, the background the lower."""
STEPS = 32
"""Levels per channel: with 64 a nudge changes twice as many cells, and no terminal's picture can be trusted anyway."""

EVEN = 0.179
"""The relative luminance above which black contrasts more than white (WCAG 2.2, contrast ratio: both have 4.6 here)."""
Place = tuple[float, float]


def fitted(width: int, height: int, columns: int, rows: int) -> tuple[int, int]:
    """The columns and rows of cells that a picture takes, a cell being twice as high as wide; at least one each.

    Example:
        >>> fitted(1920, 1080, 40, 40)
        (40, 11)
    """
    scale = min(columns / width, 2 * rows / height)
    return max(1, round(width * scale)), max(1, round(height * scale / 2))


def coloured(colours: Colours, unicode: bool) -> bool:
    """Whether a picture is drawn in colours: with only sixteen, tones of characters are easier to read."""
    return unicode and colours in ("truecolor", "256")


def draw_picture(
    levels: npt.NDArray[Any],
    columns: int,
    rows: int,
    colours: Colours,
    unicode: bool = True,
    at: Place | None = None,
    marks: Sequence[Place] = (),
) -> Raster:
    """Draws a picture in at most `columns` by `rows` cells.

    Args:
        levels: (height, width, 1 or 3) 0..1, encoded for display.
        marks: places that are numbered from 1.
        at: the cursor, 0..1 from left to right and from top to bottom.
    """
    across, down = fitted(levels.shape[1], levels.shape[0], max(columns, 1), max(rows, 1))
    arms = _arms(cell_of_place(at, across, down), across, down, unicode) if at else []
    arms += [(*cell_of_place(mark, across, down), f"{number}") for number, mark in enumerate(marks, 1)]
    if not coloured(colours, unicode):
        lines = tones(sampled(levels, across, down).mean(axis=2))
        glyphs = np.array([list(line) for line in lines], "<U1").view(np.uint32).reshape(down, across)
        raster = Raster.blank(down, across)
        raster.glyphs[...] = glyphs
        for row, column, arm in arms:
            raster.glyphs[row, column], raster.attributes[row, column] = ord(arm), REVERSE
        return raster
    small = np.clip(np.nan_to_num(sampled(levels, across, 2 * down)), 0, 1)
    stepped = np.rint(np.rint(small * (STEPS - 1)) * (255 / (STEPS - 1)))
    points = pens(np.broadcast_to(stepped, (*small.shape[:2], 3)), colours)
    upper, lower = points[0::2], np.ascontiguousarray(points[1::2])
    same = upper == lower
    glyphs = np.where(same, ord(" "), UPPER_HALF).astype(np.uint32)
    fore = np.where(same, DEFAULT, upper).astype(np.int32)
    for row, column, arm in arms:
        beneath = np.broadcast_to(stepped[2 * row : 2 * row + 2, column].mean(axis=0), 3)
        glyphs[row, column] = ord(arm)
        lower[row, column] = pens(beneath, colours)
        fore[row, column] = pens(np.full(3, contrasting(beneath)), colours)
    return Raster(glyphs, fore, lower, np.zeros(glyphs.shape, np.uint8))


def cell_of_place(at: Place, columns: int, rows: int) -> tuple[int, int]:
    """The (row, column) of the cell at a place in a picture of a size in cells; the nearest for a place outside.

    Example:
        >>> cell_of_place((0.5, 0.99), 40, 11), cell_of_place((1.0, 0.0), 40, 11)
        ((10, 20), (0, 39))
    """
    x, y = at
    return min(int(max(y, 0) * rows), rows - 1), min(int(max(x, 0) * columns), columns - 1)


def contrasting(rgb: npt.NDArray[Any]) -> int:
    """Black, 0, or white, 255, whichever contrasts more with a colour.

    Args:
        rgb: (3,) 0..255.

    Example:
        >>> contrasting(np.array([255, 255, 0])), contrasting(np.array([0, 0, 255]))
        (0, 255)
    """
    light = (rgb / 255) ** 2.2
    return 0 if light @ np.array([BT709.red, BT709.green, BT709.blue]) > EVEN else 255


def _arms(centre: tuple[int, int], columns: int, rows: int, unicode: bool) -> list[tuple[int, int, str]]:
    """Row, column and character of a cross around a cell, which itself stays free; arms are cut at the edge."""
    row, column = centre
    flat, upright = "\u2500\u2502" if unicode else "-|"
    arms = (row, column - 1, flat), (row, column + 1, flat), (row - 1, column, upright), (row + 1, column, upright)
    return [arm for arm in arms if 0 <= arm[0] < rows and 0 <= arm[1] < columns]


def sampled(levels: npt.NDArray[Any], columns: int, rows: int) -> npt.NDArray[Any]:
    """Evenly spaced rows and columns of a picture, so that only pixels that the scopes counted are shown."""
    height, width = levels.shape[:2]
    picked: npt.NDArray[Any] = levels[np.arange(rows) * height // rows][:, np.arange(columns) * width // columns]
    return picked
