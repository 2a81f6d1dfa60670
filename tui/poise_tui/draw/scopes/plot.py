"""Plot: a shot's curves, output over input, with their points and the histogram of what enters them.

Both axes have the scale of `poise.scopes.levels`, so that levels line up with a waveform beside it. The layers differ
without colours too: the current curve is a full line, the others are dotted, the diagonal is dotted more sparsely, and
the histogram is a chequerboard. A cell shows only the uppermost of its layers.
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
from poise_tui.draw.cells import Cells, Ink
from poise_tui.draw.layers import Glyphs, dotted, lay, lay_upright
from poise_tui.draw.scopes.graticule import FIGURES, MARGIN, graticule
from poise_tui.draw.scopes.traces import grain

Channel = Literal["red", "green", "blue", "master"]
INKS: dict[Channel, Ink] = {"red": Ink.RED, "green": Ink.GREEN, "blue": Ink.BLUE, "master": Ink.LUMA}

NARROWEST = 8
"""Below this many columns the plot has no figures at its left."""
LOWEST = 4
"""Below this many rows it has no figures below."""
POINT, CHOSEN, CURSOR = "o", "@", "+"
LINE, DIAGONAL, BAR = plain.TRACE[-1], ".", ":"
"""In plain characters; curves other than the current one are drawn with their initials."""
Levels = npt.NDArray[np.float64]


def plot_bins(columns: int, unicode: bool = True) -> int:
    """The bins of the histogram for a plot of `columns` cells including figures; at least one.

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
    colourless: bool = False,
) -> Cells:
    """The curve of `channel` over the other curves that are not straight; input to the right, output upwards.

    Its points are `o`, the one at the cursor `@`; one beyond the scale is drawn at the edge as `<`, `>`, `^` or `v`.
    Without a point at the cursor, there is a `+` on the curve. The mark at the cursor has the ink CHOSEN.

    Args:
        at: input of the cursor in code value; equal to that of a point, it chooses the point.
        counts: (bins,) of the values that enter the curve, lowest first, from LOW to HIGH; `plot_bins` says how many,
            and any other number is stretched over the plot. Bars follow the square root, up to half of the height.
        columns, rows: in all, including figures, which are left out if there are few.
        colourless: nothing but its shape tells the curve from the histogram, which keeps a cell's distance from it.

    Example:
        >>> draw_plot(Curves(), "master", 0.0, None, 3, 3, unicode=False).lines()
        ['| o', '-#-', '@ -']
    """
    if columns < 1 or rows < 1:
        return Cells.blank(rows, columns)
    figured = rows >= LOWEST and _margin(columns) > 0
    high, wide = rows - figured, columns - MARGIN * figured
    fine = grain(unicode)
    height, width = high * fine.down, wide * fine.across

    points: tuple[Point, ...] = getattr(curves, channel)
    traced, bars = _traced(points, height, width, unicode), _bars(counts, height, width, unicode)
    if colourless:
        near = traced != " "
        near = near | np.pad(near[1:], ((0, 1), (0, 0))) | np.pad(near[:-1], ((1, 0), (0, 0)))
        bars.glyphs[near], bars.inks[near] = " ", Ink.NONE
    backed = graticule(bars, unicode)
    # a view, so that drawing on the plot leaves the figures alone
    plot = Cells(backed.glyphs[:, MARGIN:], backed.inks[:, MARGIN:], backed.steps[:, MARGIN:])
    lay(plot, _traced(STRAIGHT, height, width, unicode, DIAGONAL, 4 if unicode else 2), Ink.GRATICULE)
    if LOW <= at <= HIGH:
        lay_upright(plot, _column_of(at, width), unicode)
    for name, ink in INKS.items():
        other: tuple[Point, ...] = getattr(curves, name)
        if name != channel and not straight(other):
            lay(plot, _traced(other, height, width, unicode, name[0], 2 if unicode else 1), ink, 0)
    lay(plot, traced, INKS[channel])
    _mark(plot, points, at, height, width)

    cells = Cells.blank(rows, columns)
    cells.paste(0, 0, backed if figured else plot)
    if figured:
        _write_inputs(cells, width, fine.across)
    return cells


def _margin(columns: int) -> int:
    return MARGIN if columns >= MARGIN + NARROWEST else 0


def _column_of(level: float, width: int) -> int:
    """The column of a level, as `row_of` for rows, from LOW on the left to HIGH."""
    return width - 1 - row_of(level, width)


@lru_cache(maxsize=32)
def _through(points: tuple[Point, ...]) -> Callable[[Levels], Levels]:
    """Cached, since every key press redraws, and interpolating a curve through its points is slow."""
    return curve(points)


@lru_cache(maxsize=32)
def _traced(
    points: tuple[Point, ...], height: int, width: int, unicode: bool, glyph: str = LINE, step: int = 1
) -> Glyphs:
    """A curve alone, with only every n-th dot, evaluated at the middle of each column of dots; cached as well."""
    rows, columns = _path(
        _through(points)(LOW + (np.arange(width, dtype=np.float64) + 0.5) * ((HIGH - LOW) / width)), height
    )
    grid = np.zeros((height, width), np.bool_)
    grid[rows[::step], columns[::step]] = True
    return dotted(grid, unicode, glyph)


def _path(outputs: Levels, height: int) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.intp]]:
    """Rows and columns of a curve's dots, upwards; each column reaches halfway to the next, so that there is no gap.

    A curve that leaves the scale is drawn up to the edge, not along it.
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
    if unicode:  # thinned, except for the end of each bar
        lit &= ((above + np.arange(width)) % 2 == 0) | (above == lengths - 1)
    lay(cells, dotted(lit, unicode, BAR), Ink.LUMA, 0)
    return cells


def _mark(cells: Cells, points: tuple[Point, ...], at: float, height: int, width: int) -> None:
    """Draws the points over everything, and the mark of the cursor over them."""
    chosen = next((point for point in points if point[0] == at), None)
    marks = [(point, _beyond(point) or POINT, Ink.MARK) for point in points if point is not chosen]
    if chosen is None:
        marks.append(((at, float(_through(points)(np.array(at)))), CURSOR, Ink.CHOSEN))
    else:
        marks.append((chosen, _beyond(chosen) or CHOSEN, Ink.CHOSEN))
    x, y = np.array([point for point, _, _ in marks]).T
    rows = rows_of(y, height) // (height // cells.shape[0])
    columns = (width - 1 - rows_of(x, width)) // (width // cells.shape[1])
    for row, column, (_, glyph, ink) in zip(rows.tolist(), columns.tolist(), marks, strict=True):
        cells.put(row, column, glyph, ink)


def _beyond(point: Point) -> str:
    """The direction in which a point is off the scale, sideways first; empty for a point on it."""
    x, y = point
    return "<" if x < LOW else ">" if x > HIGH else "^" if y > HIGH else "v" if y < LOW else ""


def _write_inputs(cells: Cells, width: int, across: int) -> None:
    """The figures of the input on the last row; one that would touch 0, 50 or 100 is left out."""
    rows, columns = cells.shape
    taken: set[int] = set()
    for figure in sorted(FIGURES, key=lambda figure: figure % 50):
        text = str(figure)
        middle = MARGIN + _column_of(figure / 100, width) // across
        first = min(middle - len(text) // 2, columns - len(text))
        places = set(range(first, first + len(text)))
        if not taken & places:
            cells.write(rows - 1, first, text, Ink.FAINT)
            taken |= {first - 1, *places, first + len(text)}
