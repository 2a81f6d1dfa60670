"""Traces: the waveform, the parade and the vectorscope of a signal, drawn to a given number of cells."""

from math import cos, radians, sin

import numpy as np

from poise.scopes import SKIN_ANGLE, Signal, cell_of, parade, targets, vectorscope, waveform
from poise.scopes.waveform import Counts
from poise_tui.draw import braille, plain
from poise_tui.draw.cells import STEPS, Cells, Ink
from poise_tui.draw.graticule import MARGIN, graticule

_CHANNELS = (("R", Ink.RED), ("G", Ink.GREEN), ("B", Ink.BLUE))


def draw_waveform(signal: Signal, columns: int, rows: int, unicode: bool = True) -> Cells:
    """The waveform with its figures, `columns` by `rows` cells in all."""
    how = braille if unicode else plain
    counts = waveform(signal, (columns - MARGIN) * how.ACROSS, rows * how.DOWN)
    return graticule(_draw(counts, Ink.LUMA, unicode), unicode)


def draw_parade(signal: Signal, columns: int, rows: int, unicode: bool = True) -> Cells:
    """Red, green and blue side by side, each under its letter, with figures; `columns` by `rows` cells at most."""
    how = braille if unicode else plain
    each = (columns - MARGIN - 2) // 3
    grids = parade(signal, each * how.ACROSS, (rows - 1) * how.DOWN)
    parts = [_draw(grid, ink, unicode) for grid, (_, ink) in zip(grids, _CHANNELS, strict=True)]
    drawn = graticule(_beside(parts), unicode)
    heading = ((1, 0), (0, 0))
    cells = Cells(
        np.pad(drawn.glyphs, heading, constant_values=" "),
        np.pad(drawn.inks, heading),
        np.pad(drawn.steps, heading),
    )
    for place, (letter, ink) in enumerate(_CHANNELS):
        column = MARGIN + place * (each + 1)
        cells.put(0, column, letter, ink)
        cells.steps[0, column] = STEPS - 1
    return cells


def draw_vectorscope(signal: Signal, rows: int, unicode: bool = True) -> Cells:
    """The vectorscope, `rows` by twice as many columns: letters at the 75 % targets, and the skin line."""
    if unicode:
        size, down, across = rows * braille.DOWN, braille.DOWN, braille.ACROSS
        counts = vectorscope(signal, size)
    else:
        size, down, across = rows * 2, 2, 1
        counts = vectorscope(signal, size).reshape(rows, 2, size).sum(axis=1)
    cells = _draw(counts, Ink.LUMA, unicode)
    for reach in np.linspace(0.06, 0.46, rows):
        row, column = cell_of(reach * cos(radians(SKIN_ANGLE)), reach * sin(radians(SKIN_ANGLE)), size)
        cells.under(row // down, column // across, "\u00b7" if unicode else "'", Ink.SKIN)
    row, column = cell_of(0, 0, size)
    cells.under(row // down, column // across, "+", Ink.GRATICULE)
    for target in targets():
        row, column = cell_of(target.cb, target.cr, size)
        cells.put(row // down, column // across, target.name[0].upper(), Ink.MARK)
    return cells


def _draw(counts: Counts, ink: Ink, unicode: bool) -> Cells:
    return braille.braille(counts, ink) if unicode else plain.plain(counts, ink)


def _beside(parts: list[Cells]) -> Cells:
    """Blocks of the same height with a blank column between them."""
    gap = ((0, 0), (0, 1))
    return Cells(
        np.concatenate([np.pad(p.glyphs, gap, constant_values=" ") for p in parts], axis=1)[:, :-1],
        np.concatenate([np.pad(p.inks, gap) for p in parts], axis=1)[:, :-1],
        np.concatenate([np.pad(p.steps, gap) for p in parts], axis=1)[:, :-1],
    )
