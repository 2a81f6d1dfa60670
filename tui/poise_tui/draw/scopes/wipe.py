"""The wipe: two pictures on one instrument, the other left of a line and this one right of it."""

from collections.abc import Iterable
from dataclasses import fields

import numpy as np

from poise.scopes.waveform import Counts
from poise_tui.draw.cells import Cells, Ink
from poise_tui.draw.raster import Raster


def split_at(split: float, columns: int) -> int:
    """The column of the line on an instrument; the columns left of it show the other picture.

    Example:
        >>> split_at(0.5, 40), split_at(1.0, 40)
        (20, 40)
    """
    return round(split * columns)


def joined(left: Counts, right: Counts, split: float, across: int) -> Counts:
    """Count grids of one size, (..., columns), joined at a whole cell of `across` columns.

    Example:
        >>> joined(np.zeros((1, 4)), np.ones((1, 4)), 0.5, 2).tolist()
        [[0.0, 0.0, 1.0, 1.0]]
    """
    column = split_at(split, right.shape[-1] // across) * across
    return np.concatenate([left[..., :column], right[..., column:]], axis=-1)


def lay_lines(cells: Cells, columns: Iterable[int], unicode: bool) -> None:
    """Draws upright lines behind a trace; one past the end is drawn on the last column."""
    for column in columns:
        at = min(column, cells.shape[1] - 1)
        bare = cells.inks[:, at] < Ink.LUMA
        cells.glyphs[bare, at] = "\u2502" if unicode else "|"
        cells.inks[bare, at] = Ink.MARK


def joined_pictures(left: Raster, right: Raster, split: float) -> Raster:
    """Two drawn pictures joined where the right one's width is split; they may differ in shape."""
    rows, columns = (max(sides) for sides in zip(left.shape, right.shape, strict=True))
    column = split_at(split, right.shape[1])
    a, b = left.fitted(rows, columns), right.fitted(rows, columns)
    parts = (part.name for part in fields(Raster))
    return Raster(*(np.concatenate([getattr(a, n)[:, :column], getattr(b, n)[:, column:]], axis=1) for n in parts))
