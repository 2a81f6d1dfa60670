"""The picture itself, two by two pixels a cell, or a character for its tone where colours are few."""

from collections.abc import Sequence
from typing import Any

import numpy as np
import numpy.typing as npt

from poise.colour.luma import BT709
from poise_tui.draw.capability import Colours
from poise_tui.draw.pens import DEFAULT, hues, ladder, pens
from poise_tui.draw.plain import tones
from poise_tui.draw.raster import REVERSE, Raster

_QUADRANTS = np.array([ord(glyph) for glyph in " \u2598\u259d\u2580\u2596\u258c\u259e\u259b"], np.uint32)
"""Unicode, Block Elements, by which of upper left (1), upper right (2) and lower left (4) have the foreground; the
lower right quadrant always has the background."""
_PARTS = np.array([[part >> pixel & 1 for pixel in range(4)] for part in range(8)], bool)
"""The same as (8, 4) flags."""
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
        small = np.broadcast_to(sampled(levels, across, down), (down, across, 3))
        glyphs = np.array([list(line) for line in tones(small.mean(axis=2))], "<U1").view(np.uint32)
        raster = Raster.blank(down, across)
        raster.glyphs[...] = glyphs.reshape(down, across)
        if colours is not None:
            raster.fore[...] = hues(255 * np.clip(np.nan_to_num(small), 0, 1))
        for row, column, arm in arms:
            raster.glyphs[row, column], raster.attributes[row, column] = ord(arm), REVERSE
        return raster.plain_blanks()
    small = np.clip(np.nan_to_num(sampled(levels, 2 * across, 2 * down)), 0, 1)
    pixels = np.broadcast_to(small, (2 * down, 2 * across, 3)).reshape(down, 2, across, 2, 3)
    parts, upper_, lower_ = _parted(pixels.transpose(0, 2, 1, 3, 4).reshape(down, across, 4, 3))
    upper, lower = (ladder(STEPS, colours)[tuple(np.moveaxis(side, -1, 0))] for side in (upper_, lower_))
    same = upper == lower
    glyphs = np.where(same, ord(" "), _QUADRANTS[parts]).astype(np.uint32)
    fore = np.where(same, DEFAULT, upper).astype(np.int32)
    stepped = np.rint((upper_ + lower_) * (255 / 2 / (STEPS - 1)))
    for row, column, arm in arms:
        beneath = stepped[row, column]
        glyphs[row, column] = ord(arm)
        lower[row, column] = pens(beneath, colours)
        fore[row, column] = pens(np.full(3, contrasting(beneath)), colours)
    return Raster(glyphs, fore, lower, np.zeros(glyphs.shape, np.uint8))


def _parted(
    cells: npt.NDArray[Any],
) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.intp], npt.NDArray[np.intp]]:
    """Four pixels a cell as two colours: the part of them in the foreground, its mean, and that of the rest, in STEPS.

    The part is the one of eight that leaves the least squared error.

    Args:
        cells: (rows, columns, 4, 3) 0..1: upper left, upper right, lower left, lower right.
    """
    rows, columns = cells.shape[:2]
    pixels = np.ascontiguousarray(cells.reshape(-1, 4, 3).transpose(1, 0, 2), np.float32).reshape(4, -1)
    sides = [(part / np.maximum(part.sum(axis=1, keepdims=True), 1)).astype(np.float32) for part in (_PARTS, ~_PARTS)]
    front, back = ((side @ pixels).reshape(8, -1, 3) for side in sides)
    # of all ways, the sum of squares of means is largest where the error is least
    squares = [np.einsum("wck,wck->wc", side, side) for side in (front, back)]
    best = (_PARTS.sum(axis=1)[:, None] * squares[0] + (~_PARTS).sum(axis=1)[:, None] * squares[1]).argmax(axis=0)
    front, back = (np.rint(side[best, np.arange(len(best))] * (STEPS - 1)).astype(np.intp) for side in (front, back))
    front = np.where((best == 0)[:, None], back, front)
    return best.reshape(rows, columns), front.reshape(rows, columns, 3), back.reshape(rows, columns, 3)


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
