"""All scopes of one picture in one pass, as fast as possible, for a live view after every change."""

from dataclasses import dataclass

import numpy as np

from poise.scopes.ends import ends
from poise.scopes.levels import WHOLE, Scale
from poise.scopes.signal import Picture, split, strips
from poise.scopes.vectorscope import vectorscope
from poise.scopes.waveform import Counts, traces


@dataclass(frozen=True)
class Instruments:
    """The count grids of one picture, shaped as `waveform`, `parade`, `vectorscope` and `histogram` return them.

    Attributes:
        scale: the part of the level scale that they show.
        gain: of the vectorscope.
        luma_ends, colour_ends: (1, 2, columns) and (3, 2, columns of the parade) pixels at or beyond 100 % and 0 %, as
            `ends` returns them.
        pixels: how many were counted, wherever they lie.
    """

    waveform: Counts
    parade: Counts
    vectorscope: Counts
    histogram: Counts
    luma_ends: Counts
    colour_ends: Counts
    pixels: int
    scale: Scale = WHOLE
    gain: int = 1


def instruments(
    picture: Picture,
    columns: int,
    rows: int,
    size: int,
    fine: int = 4,
    parade_columns: int | None = None,
    maximum: int | None = None,
    primaries: str = "ITU-R BT.709",
    scale: Scale = WHOLE,
    gain: int = 1,
) -> Instruments:
    """Count all scopes at once; the histogram is summed from a finer waveform and parade.

    Args:
        picture, maximum, primaries: as in `split`.
        columns, rows: the size of the waveform; the parade has the same rows.
        size: the size of the vectorscope.
        fine: histogram bins per row: the histogram has rows * fine bins.
        parade_columns: the columns of each channel of the parade; a third of `columns` if None.
        scale: the part of the level scale to count.
        gain: the gain of the vectorscope.

    Example:
        >>> grids = instruments(np.full((3, 2, 1), 0.5), 6, 11, 9)
        >>> grids.parade.shape, grids.histogram.shape
        ((3, 11, 2), (4, 44))
    """
    thirds = parade_columns or max(columns // 3, 1)
    luma = np.zeros((1, rows * fine, columns), np.int64)
    colours = np.zeros((3, rows * fine, thirds), np.int64)
    plane = np.zeros((size, size), np.int64)
    luma_ends, colour_ends = np.zeros((1, 2, columns), np.int64), np.zeros((3, 2, thirds), np.int64)
    pixels = 0
    for strip in strips(picture):
        signal = split(strip, maximum, primaries)
        luma += traces(signal, signal.levels[:1], columns, rows * fine, scale)
        colours += traces(signal, signal.levels[1:], thirds, rows * fine, scale)
        luma_ends += ends(signal, signal.levels[:1], columns)
        colour_ends += ends(signal, signal.levels[1:], thirds)
        pixels += signal.levels.shape[1]
        plane += vectorscope(signal, size, gain=gain)
    return Instruments(
        waveform=luma.reshape(rows, fine, columns).sum(axis=1),
        parade=colours.reshape(3, rows, fine, thirds).sum(axis=2),
        vectorscope=plane,
        histogram=np.concatenate([luma.sum(axis=2), colours.sum(axis=2)])[:, ::-1],
        luma_ends=luma_ends,
        colour_ends=colour_ends,
        pixels=pixels,
        scale=scale,
        gain=gain,
    )
