"""Plot: a shot's curves, output over input, with their points and the histogram of what enters them.

Both axes are the scale of `poise.scopes.levels`, so that a plot stands beside the waveform with its levels in line.
Without colours too, the layers differ: the curve in hand is a full line, the others are dotted, the diagonal is dotted
more sparsely, and the histogram is a chequerboard. A cell shows the uppermost of its layers alone.
"""

from collections.abc import Callable
from functools import lru_cache
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

from poise.chain.curves import curve, straight
from poise.correction.model import STRAIGHT, Curves, Point
from poise.scopes.levels import HIGH, LOW, row_of, rows_of
from poise_tui.draw import plain
from poise_tui.draw.braille import braille
from poise_tui.draw.cells import STEPS, Cells, Ink
from poise_tui.draw.graticule import FIGURES, MARGIN, graticule
from poise_tui.draw.traces import grain

Channel = Literal["red", "green", "blue", "master"]
INKS: dict[Channel, Ink] = {"red": Ink.RED, "green": Ink.GREEN, "blue": Ink.BLUE, "master": Ink.LUMA}

NARROWEST = 8
"""Columns below which a plot needs them more than figures."""
LOWEST = 4
"""Rows below which it needs them more."""
POINT, CHOSEN, CURSOR = "o", "@", "+"
LINE, DIAGONAL, BAR, UPRIGHT = plain.TRACE[-1], ".", ":", "|"
"""In plain characters; curves that are not in hand are written in their initials."""
Levels = npt.NDArray[np.float64]
Dots = tuple[npt.NDArray[np.intp], npt.NDArray[np.intp]]
"""Rows and columns of a dot grid, from left to right."""


def plot_bins(columns: int, unicode: bool = True) -> int:
    """The bins of a histogram for a plot of `columns` cells, figures and all; at least one.

    Example:
        >>> plot_bins(50), plot_bins(50, unicode=False), plot_bins(6)
        (92, 46, 12)
    """
    return max(columns - _margin(columns), 1) * grain(unicode).across


def draw_plot(
    curves: Curves,
    channel: Channel,
    at: float,
    counts: npt.NDArray[Any] | None,
    columns: int,
    rows: int,
    unicode: bool = True,
) -> Cells:
    """The curves, that of `channel` over the others, as far as those change anything; input to the right, output upwards.

    Points are `o`, the one at the cursor `@`; those beyond the scale stand at its edge as `<`, `>`, `^` or `v`. Where no
    point is at the cursor, a `+` is on the curve. What stands at the cursor has the ink of what is chosen.

    Args:
        at: input of the cursor in code value, that of a point to choose it.
        counts: (bins,) of the values that enter the curve, lowest first, from LOW to HIGH; `plot_bins` says how many,
            and any other number is stretched over the plot. Bars go by the square root, up to half of the height.
        columns, rows: of all, figures among them; few columns or rows go without.

    Example:
        >>> draw_plot(Curves(), "master", 0.0, None, 3, 3, unicode=False).lines()
        ['- #', '|# ', '@ -']
    """
    if columns < 1 or rows < 1:
        return Cells.blank(rows, columns)
    figured = rows >= LOWEST and _margin(columns) > 0
    high, wide = rows - figured, columns - MARGIN * figured
    fine = grain(unicode)
    height, width = high * fine.down, wide * fine.across

    backed = graticule(_bars(counts, height, width, unicode), unicode)
    # a view, so that what is laid on the plot lies beside the figures
    plot = Cells(backed.glyphs[:, MARGIN:], backed.inks[:, MARGIN:], backed.steps[:, MARGIN:])
    sparse = 4 if unicode else 2
    _lay(plot, _every(sparse, _path(_outputs(STRAIGHT, width), height)), Ink.GRATICULE, DIAGONAL, unicode)
    if LOW <= at <= HIGH:
        upright = np.arange(0, height, 2)
        _lay(plot, (upright, np.full_like(upright, _column_of(at, width))), Ink.GRATICULE, UPRIGHT, unicode)
    for name, ink in INKS.items():
        others: tuple[Point, ...] = getattr(curves, name)
        if name != channel and not straight(others):
            dots = _every(2 if unicode else 1, _path(_outputs(others, width), height))
            _lay(plot, dots, ink, name[0], unicode, 0)
    points: tuple[Point, ...] = getattr(curves, channel)
    _lay(plot, _path(_outputs(points, width), height), INKS[channel], LINE, unicode)
    _mark(plot, points, at, height, width)

    cells = Cells.blank(rows, columns)
    cells.paste(0, 0, backed if figured else plot)
    if figured:
        _write_inputs(cells, width, fine.across)
    return cells


def _margin(columns: int) -> int:
    return MARGIN if columns >= MARGIN + NARROWEST else 0


def _column_of(level: float, width: int) -> int:
    """As `row_of`, from LOW on the left to HIGH."""
    return width - 1 - row_of(level, width)


@lru_cache(maxsize=32)
def _through(points: tuple[Point, ...]) -> Callable[[Levels], Levels]:
    """Every key press draws anew, and to lay a curve through its points takes longer than all the rest."""
    return curve(points)


@lru_cache(maxsize=32)
def _outputs(points: tuple[Point, ...], width: int) -> Levels:
    """The curve at the middle of every column of dots."""
    outputs = np.array(_through(points)(LOW + (np.arange(width) + 0.5) * ((HIGH - LOW) / width)))
    outputs.flags.writeable = False
    return outputs


def _path(outputs: Levels, height: int) -> Dots:
    """The dots of a curve that never falls: each column reaches halfway to its neighbours, so that there are no gaps.

    A curve that leaves the scale is drawn up to its edge, not along it.
    """
    rows = rows_of(outputs, height).astype(np.intp)
    rows[outputs > HIGH] = -1
    rows[outputs < LOW] = height
    halfway = (rows[:-1] + rows[1:]) // 2
    top, bottom = rows.copy(), rows.copy()
    top[:-1] = np.minimum(halfway + 1, rows[:-1])
    bottom[1:] = np.maximum(halfway, rows[1:])
    lengths = bottom - top + 1
    climbed = np.arange(lengths.sum()) - np.repeat(np.cumsum(lengths) - lengths, lengths)
    down, across = np.repeat(bottom, lengths) - climbed, np.repeat(np.arange(len(rows)), lengths)
    inside = (down >= 0) & (down < height)
    return down[inside], across[inside]


def _every(step: int, dots: Dots) -> Dots:
    return dots[0][::step], dots[1][::step]


def _bars(counts: npt.NDArray[Any] | None, height: int, width: int, unicode: bool) -> Cells:
    """The histogram alone, from the bottom up, in the faintest ink of a trace."""
    fine = grain(unicode)
    cells = Cells.blank(height // fine.down, width // fine.across)
    if counts is None or not counts.any():
        return cells
    stretched = counts[np.arange(width) * len(counts) // width]
    share = np.sqrt(stretched / counts.max())
    half = height // 2
    lengths = np.where(stretched > 0, np.clip(np.rint(share * half), min(1, half), half), 0)
    above = np.arange(height)[::-1, None]
    lit = above < lengths
    if unicode:  # thinned, but for the end of each bar
        lit &= ((above + np.arange(width)) % 2 == 0) | (above == lengths - 1)
    _lay(cells, np.nonzero(lit), Ink.LUMA, BAR, unicode, 0)
    return cells


def _lay(cells: Cells, dots: Dots, ink: Ink, glyph: str, unicode: bool, step: int = STEPS - 1) -> None:
    """Lay dots over what is there, or a glyph where there are no dots to a cell."""
    rows, columns = cells.shape
    fine = grain(unicode)
    grid = np.zeros((rows * fine.down, columns * fine.across), np.uint8)
    grid[dots] = 1
    drawn = braille(grid).glyphs if unicode else np.where(grid, glyph, " ")
    lit = drawn != " "
    np.copyto(cells.glyphs, drawn, where=lit)
    cells.inks[lit], cells.steps[lit] = ink, step


def _mark(cells: Cells, points: tuple[Point, ...], at: float, height: int, width: int) -> None:
    """The points over everything, and what stands at the cursor over them."""
    down, across = height // cells.shape[0], width // cells.shape[1]

    def put(point: Point, glyph: str, ink: Ink) -> None:
        cells.put(row_of(point[1], height) // down, _column_of(point[0], width) // across, glyph, ink)

    chosen = None
    for point in points:
        if point[0] == at:
            chosen = point
        else:
            put(point, _beyond(point) or POINT, Ink.MARK)
    if chosen:
        put(chosen, _beyond(chosen) or CHOSEN, Ink.CHOSEN)
    else:
        put((at, float(_through(points)(np.array(at)))), CURSOR, Ink.CHOSEN)


def _beyond(point: Point) -> str:
    """Which way a point lies off the scale, sideways first; empty for one on it."""
    x, y = point
    return "<" if x < LOW else ">" if x > HIGH else "^" if y > HIGH else "v" if y < LOW else ""


def _write_inputs(cells: Cells, width: int, across: int) -> None:
    """The figures of the input on the last row; one that would touch another gives way to 0, 50 and 100."""
    rows, columns = cells.shape
    taken: set[int] = set()
    for figure in sorted(FIGURES, key=lambda figure: figure % 50):
        text = str(figure)
        middle = MARGIN + _column_of(figure / 100, width) // across
        first = min(middle - len(text) // 2, columns - len(text))
        places = set(range(first, first + len(text)))
        if not taken & places:
            cells.write(rows - 1, first, text, Ink.GRATICULE)
            taken |= {first - 1, *places, first + len(text)}
