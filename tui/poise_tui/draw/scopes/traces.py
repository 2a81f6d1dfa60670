"""Traces: the count grids of waveform, parade and vectorscope as cells, with their graticules."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import cos, isfinite, pi, radians, sin

import numpy as np
import numpy.typing as npt

from poise.correction import Matte
from poise.scopes import SKIN_ANGLE, WHOLE, Scale, cell_of, targets
from poise.scopes.waveform import Counts
from poise_tui.draw import braille, plain
from poise_tui.draw.cells import Cells, Ink
from poise_tui.draw.scopes.ghost import lay_ghost
from poise_tui.draw.scopes.graticule import MARGIN, graticule
from poise_tui.draw.scopes.sector import lay_sector

CHANNELS = (("R", Ink.RED), ("G", Ink.GREEN), ("B", Ink.BLUE))
BEYOND = 1.2
"""The distance of a target's letter from the centre, relative to the target, so that it does not cover it."""
RING = 0.2
"""The radius of the ring on an enlarged vectorscope, whose edge is at 0.5."""
Place = tuple[int, int]
Marks = tuple[tuple[int, str, Ink], ...]
"""Column, letter and ink of letters on one line, from left to right."""


@dataclass(frozen=True)
class Grain:
    """How finely a cell shows a count grid: grid rows down and columns across."""

    down: int
    across: int


def grain(unicode: bool) -> Grain:
    """Eight dots a cell in braille, one in plain characters."""
    how = braille if unicode else plain
    return Grain(how.DOWN, how.ACROSS)


def waveform_grid(columns: int, rows: int, unicode: bool = True) -> tuple[int, int]:
    """The (columns, rows) to count for a waveform of `columns` by `rows` cells including figures; at least one each.

    Example:
        >>> waveform_grid(44, 16)
        (80, 64)
    """
    fine = grain(unicode)
    return max(columns - MARGIN, 1) * fine.across, max(rows, 1) * fine.down


def parade_grid(columns: int, rows: int, unicode: bool = True) -> tuple[int, int]:
    """The (columns of each, rows) to count for a parade of at most `columns` by `rows` cells including figures."""
    fine = grain(unicode)
    return max((columns - MARGIN - 2) // 3, 1) * fine.across, max(rows, 1) * fine.down


def vectorscope_grid(rows: int, unicode: bool = True) -> int:
    """The size to count for a vectorscope of `rows` by twice as many columns."""
    return max(rows, 1) * (braille.DOWN if unicode else 2)


def draw_waveform(
    counts: Counts,
    unicode: bool = True,
    ghost: Counts | None = None,
    scale: Scale = WHOLE,
    limits: tuple[float, ...] = (),
) -> Cells:
    """The waveform with the figures of its scale.

    Args:
        counts: (rows, columns) as `waveform_grid` says.
        ghost: the counts of another picture, of the same shape.
        limits: levels in per cent to mark.
    """
    cells = trace(counts, Ink.LUMA, unicode)
    if ghost is not None:
        lay_ghost(cells, ghost, unicode)
    return graticule(cells, unicode, scale, limits)


def draw_parade(
    counts: Counts,
    unicode: bool = True,
    ghost: Counts | None = None,
    scale: Scale = WHOLE,
    limits: tuple[float, ...] = (),
) -> Cells:
    """Red, green and blue side by side with figures; as `draw_waveform`, but counts (3, rows, columns)."""
    cells = side_by_side(counts, [ink for _, ink in CHANNELS], unicode)
    if ghost is not None:
        lay_ghost(cells, adjacent(ghost, unicode), unicode)
    return graticule(cells, unicode, scale, limits)


def letters(shown: Sequence[tuple[str, Ink]], columns: int) -> Marks:
    """The letters over traces side by side: column, letter and ink, over the right end of each trace.

    Args:
        columns: in all, including figures.
    """
    each = (columns - MARGIN - len(shown) + 1) // len(shown)
    return tuple((MARGIN + place * (each + 1) + each - 1, *mark) for place, mark in enumerate(shown))


def draw_vectorscope(
    counts: Counts,
    unicode: bool = True,
    keyed: Counts | None = None,
    matte: Matte | None = None,
    at: tuple[float, float] | None = None,
    gain: int = 1,
) -> Cells:
    """The vectorscope, twice as wide as high: a cross at each 75 % target, its letter beyond, and the skin line.

    Args:
        counts: (size, size).
        keyed: (size, size), the counts that a matte takes; they are green, and the others are fainter.
        matte: whose range of hue and chroma is outlined.
        at: Cb and Cr of the colour under the cursor, marked `x`.
        gain: how much the plane is enlarged about neutral; above 1 a ring with its chroma in per cent of full signal
            takes the place of the targets, which are outside.
    """
    size = len(counts)
    down, across = (braille.DOWN, braille.ACROSS) if unicode else (2, 1)
    cells = _cloud(counts, Ink.LUMA, unicode) if keyed is None else _parted(counts, keyed, unicode)
    lines, letters_ = _reticle(size, unicode, gain)
    _lay(cells, lines, (lines.inks != Ink.NONE) & (cells.inks < Ink.LUMA))
    if matte is not None:
        lay_sector(cells, matte.hue, matte.chroma, size, unicode, gain)
    _lay(cells, letters_, letters_.inks != Ink.NONE)
    if at is not None and all(map(isfinite, at)):
        row, column = cell_of(at[0] * gain, at[1] * gain, size)
        cells.put(row // down, column // across, "x", Ink.MARK)
    return cells


def _cloud(counts: Counts, ink: Ink, unicode: bool) -> Cells:
    """The counts of a vectorscope alone; in plain characters a cell shows two rows."""
    size = len(counts)
    return trace(counts if unicode else counts.reshape(size // 2, 2, size).sum(axis=1), ink, unicode)


def _parted(counts: Counts, keyed: Counts, unicode: bool) -> Cells:
    """The counts that a matte takes, in front of the rest, which is thinner and fainter to differ without colours."""
    cells, taken = _cloud(counts, Ink.LUMA, unicode), _cloud(keyed, Ink.GREEN, unicode)
    lit, own = cells.inks != Ink.NONE, taken.inks != Ink.NONE
    if unicode:
        braille.thinned(cells.glyphs, lit)
    else:
        cells.glyphs[lit] = plain.TRACE[0]
        taken.glyphs[own] = np.array(list(plain.TRACE))[np.maximum(taken.steps[own], 1)]
    cells.steps[...] //= 2
    for name in ("glyphs", "inks", "steps"):
        np.copyto(getattr(cells, name), getattr(taken, name), where=own)
    return cells


def _lay(cells: Cells, over: Cells, where: npt.NDArray[np.bool_]) -> None:
    np.copyto(cells.glyphs, over.glyphs, where=where)
    np.copyto(cells.inks, over.inks, where=where)


@lru_cache(maxsize=32)
def _reticle(size: int, unicode: bool, gain: int) -> tuple[Cells, Cells]:
    """Skin line, neutral and targets or ring, drawn behind a trace; and letters or a figure, drawn in front."""
    down, across = (braille.DOWN, braille.ACROSS) if unicode else (2, 1)
    lines, letters_ = (Cells.blank(size // down, size // across) for _ in range(2))
    skin, middle, named = _places(size)
    for row, column in skin:
        lines.put(row // down, column // across, "\u00b7" if unicode else "'", Ink.SKIN)
    lines.put(middle[0] // down, middle[1] // across, "+", Ink.GRATICULE)
    if gain > 1:
        for turn in np.arange(0, 2 * pi, pi / 12):
            row, column = cell_of(RING * cos(turn), RING * sin(turn), size)
            lines.put(row // down, column // across, "\u00b7" if unicode else ".", Ink.GRATICULE)
        row, column = cell_of(RING, 0, size)
        letters_.write(row // down, column // across + 1, f"{100 * RING / gain:g}", Ink.FAINT)
        return lines, letters_
    for letter, target, beyond in named:
        lines.put(target[0] // down, target[1] // across, "+", Ink.MARK)
        letters_.put(beyond[0] // down, beyond[1] // across, letter, Ink.MARK)
    return lines, letters_


def _places(size: int) -> tuple[list[Place], Place, list[tuple[str, Place, Place]]]:
    """The cells of the skin line, neutral, and the targets with their letters in a vectorscope of a size."""
    across, up = cos(radians(SKIN_ANGLE)), sin(radians(SKIN_ANGLE))
    skin = [cell_of(reach * across, reach * up, size) for reach in np.linspace(0.06, 0.46, max(size // 3, 2))]
    named = [
        (one.name[0].upper(), cell_of(one.cb, one.cr, size), cell_of(BEYOND * one.cb, BEYOND * one.cr, size))
        for one in targets()
    ]
    return skin, cell_of(0, 0, size), named


def trace(counts: Counts, ink: Ink, unicode: bool, solid: bool = False) -> Cells:
    """A count grid in braille or plain characters, denser where more was counted.

    Args:
        solid: not denser; every place where anything was counted is drawn alike.
    """
    if not unicode:
        return plain.plain(counts, ink, solid)
    return braille.braille(counts, ink, None if solid else braille.dithered(counts))


def side_by_side(grids: Counts, inks: Sequence[Ink], unicode: bool, solid: bool = False) -> Cells:
    """Count grids of one size, (grids, rows, columns), drawn side by side with a blank column between them.

    Args:
        solid: as in `trace`.
    """
    cells = trace(adjacent(grids, unicode), inks[0], unicode, solid)
    each = grids.shape[2] // grain(unicode).across + 1
    for place, ink in enumerate(inks):
        part = cells.inks[:, place * each : (place + 1) * each - 1]
        part[part != Ink.NONE] = ink
    return cells


def adjacent(grids: Counts, unicode: bool) -> Counts:
    """Count grids of one size, (grids, rows, columns), as one, (rows, all columns), with a cell between them."""
    count, rows, columns = grids.shape
    gap = grain(unicode).across
    whole = np.zeros((rows, count, columns + gap), np.int64)
    whole[..., :columns] = grids.transpose(1, 0, 2)
    return whole.reshape(rows, -1)[:, :-gap]
