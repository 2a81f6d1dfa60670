"""All scopes of one picture in one pass, as fast as possible, for a live view after every change."""

from dataclasses import dataclass

import numpy as np

from poise.scopes.signal import Picture, split, strips
from poise.scopes.vectorscope import vectorscope
from poise.scopes.waveform import Counts, traces


@dataclass(frozen=True)
class Instruments:
    """The count grids of one picture, shaped as `waveform`, `parade`, `vectorscope` and `histogram` return them."""

    waveform: Counts
    parade: Counts
    vectorscope: Counts
    histogram: Counts


def instruments(
    picture: Picture,
    columns: int,
    rows: int,
    size: int,
    fine: int = 4,
    parade_columns: int | None = None,
    maximum: int | None = None,
    primaries: str = "ITU-R BT.709",
) -> Instruments:
    """Count all scopes at once; the histogram is summed from a finer waveform and parade.

    Args:
        picture, maximum, primaries: as in `split`.
        columns, rows: the size of the waveform; the parade has the same rows.
        size: the size of the vectorscope.
        fine: histogram bins per row: the histogram has rows * fine bins.
        parade_columns: the columns of each channel of the parade; a third of `columns` if None.

    Example:
        >>> grids = instruments(np.full((3, 2, 1), 0.5), 6, 11, 9)
        >>> grids.parade.shape, grids.histogram.shape
        ((3, 11, 2), (4, 44))
    """
    thirds = parade_columns or max(columns // 3, 1)
    luma = np.zeros((1, rows * fine, columns), np.int64)
    colours = np.zeros((3, rows * fine, thirds), np.int64)
    plane = np.zeros((size, size), np.int64)
    for strip in strips(picture):
        signal = split(strip, maximum, primaries)
        luma += traces(signal, signal.levels[:1], columns, rows * fine)
        colours += traces(signal, signal.levels[1:], thirds, rows * fine)
        plane += vectorscope(signal, size)
    return Instruments(
        waveform=luma.reshape(rows, fine, columns).sum(axis=1),
        parade=colours.reshape(3, rows, fine, thirds).sum(axis=2),
        vectorscope=plane,
        histogram=np.concatenate([luma.sum(axis=2), colours.sum(axis=2)])[:, ::-1],
    )
