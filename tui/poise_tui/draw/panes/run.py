"""The run of a sequence: its levels over its frames, the flicker of each frame, the frames that jump, and a summary.

Frames go from left to right by their numbers. Above, luma from black to white is a band, with the medians of red,
green, blue and luma as lines in it, on the scale of the other instruments. Below is the departure of luma's median from
its neighbours, on a scale of its own. Under both, `^` marks the current frame, `@` the judged frame, `!` frames that
jump, `x` frames that can't be read and `+` keyframes.
"""

import textwrap
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from poise.scopes import Course
from poise.scopes.levels import rows_of
from poise_tui.draw import plain
from poise_tui.draw.cells import STEPS, Cells, Ink
from poise_tui.draw.layers import Grid, dotted, lay, lay_upright
from poise_tui.draw.scopes.graticule import MARGIN, graticule
from poise_tui.draw.scopes.traces import grain

Levels = npt.NDArray[np.float64]
Rows = npt.NDArray[np.int32]

LINES = (("B", Ink.BLUE, 3), ("G", Ink.GREEN, 2), ("R", Ink.RED, 1), ("Y", Ink.LUMA, 0))
"""Letter, ink and index in a `Course` of each median, the uppermost last."""
LINE, BAND, BAR = plain.TRACE[-1], ":", plain.TRACE[-1]
"""In plain characters; the lines of red, green and blue are drawn with their initials."""
SCALES = (1, 2, 5, 10, 20, 50, 100)
"""The possible ends of the scale of departures, in per cent."""
LEAST_CHART, LEAST_BARS, MOST_BARS = 5, 3, 7
"""Rows."""
NO_BREAK = "\u00a0"
"""Between a figure and its unit."""
NARROWEST = 20
"""The least useful columns of the pane."""


@dataclass(frozen=True)
class Marked:
    """Numbers of frames: first and last, current, judged, those that jump, those that are broken, and keyframes."""

    first: int
    last: int
    here: int
    judged: int
    abrupt: tuple[int, ...] = ()
    broken: tuple[int, ...] = ()
    keyframes: tuple[int, ...] = ()


def draw_run(
    course: Course,
    departures: Levels | None,
    marked: Marked,
    words: tuple[str, ...],
    columns: int,
    rows: int,
    unicode: bool = True,
    without: Course | None = None,
) -> Cells:
    """The whole run; where there is little room, the summary is left out first, then departures, then marks.

    Args:
        departures: of the frames of the course, per cent; None until they are known.
        without: the course without steady values, whose luma is drawn faintly; None if it is the same.
    """
    cells = Cells.blank(rows, columns)
    if columns < NARROWEST or rows < 1:
        return cells
    together = "; ".join(words).replace(" %", f"{NO_BREAK}%")
    lines = [line.replace(NO_BREAK, " ") for line in textwrap.wrap(together, columns)]
    marks = 2 if rows >= LEAST_CHART + 2 else 0
    bars = min(max((rows - marks) // 5, LEAST_BARS), MOST_BARS) if rows >= marks + LEAST_CHART + LEAST_BARS else 0
    worded = min(len(lines), max(rows - marks - bars - LEAST_CHART, 0), max(rows * 3 // 10, 1))
    high = rows - marks - bars - worded
    fine = grain(unicode)
    width = (columns - MARGIN) * fine.across

    def dot(number: int) -> int:
        return int((number - marked.first + 0.5) * width / (marked.last - marked.first + 1))

    cells.paste(0, 0, _chart(course, without, marked, high, width, dot(marked.here), unicode))
    if bars:
        cells.paste(high, 0, _bars(course, departures, marked, bars, width, unicode))
    if marks:
        places = {number: MARGIN + dot(number) // fine.across for number in _named(marked)}
        _write_marks(cells, high + bars, marked, places)
    for row, line in enumerate(lines[:worded], rows - worded):
        cut = row == rows - 1 and worded < len(lines)
        cells.write(row, 0, line[: columns - 4] + " ..." if cut else line, Ink.TEXT)
    return cells


def _chart(
    course: Course, without: Course | None, marked: Marked, rows: int, width: int, here: int, unicode: bool
) -> Cells:
    fine = grain(unicode)
    height = rows * fine.down
    backed = graticule(Cells.blank(rows, width // fine.across), unicode)
    plot = Cells(backed.glyphs[:, MARGIN:], backed.inks[:, MARGIN:], backed.steps[:, MARGIN:])
    known = course.known
    if known.any():
        numbers, levels = course.numbers[known], course.levels[known] / 100
        _, black = _across(numbers, levels[:, 0, 0], marked, width)
        white, _ = _across(numbers, levels[:, 0, 2], marked, width)
        lay(plot, dotted(_band(rows_of(white, height), rows_of(black, height), height), unicode, BAND), Ink.LUMA, 0)
        lay_upright(plot, here, unicode)
        if without is not None:
            high, low = _across(numbers, without.levels[known][:, 0, 1] / 100, marked, width)
            lay(plot, dotted(_line(rows_of(high, height), rows_of(low, height), height), unicode, "'"), Ink.FAINT)
        ends = {}
        for letter, ink, place in LINES:
            high, low = _across(numbers, levels[:, place, 1], marked, width)
            grid = _line(rows_of(high, height), rows_of(low, height), height)
            lay(plot, dotted(grid, unicode, LINE if letter == "Y" else letter.lower()), ink)
            ends[int(rows_of(low[-1:], height)[0]) // fine.down] = (letter, ink)
        for row, (letter, ink) in ends.items():
            plot.put(row, plot.shape[1] - 1, letter, ink)
            plot.steps[row, -1] = STEPS - 1
    else:
        lay_upright(plot, here, unicode)
    return backed


def _bars(course: Course, departures: Levels | None, marked: Marked, rows: int, width: int, unicode: bool) -> Cells:
    fine = grain(unicode)
    height = rows * fine.down
    cells = Cells.blank(rows, MARGIN + width // fine.across)
    plot = Cells(cells.glyphs[:, MARGIN:], cells.inks[:, MARGIN:], cells.steps[:, MARGIN:])
    known = np.isfinite(departures) if departures is not None else np.zeros(0, np.bool_)
    largest = float(np.abs(departures[known]).max()) if departures is not None and known.any() else 0.0
    scale = next((one for one in SCALES if largest <= one), SCALES[-1])
    middle = (rows // 2) * fine.down + fine.down // 2
    for row, text in ((0, f"+{scale}"), (rows // 2, "0"), (rows - 1, f"-{scale}")):
        cells.write(row, 0, f"{text:>{MARGIN - 1}}", Ink.FAINT)
    lay(plot, dotted(_zero(height, width, middle, unicode), unicode, "-"), Ink.GRATICULE)
    if departures is not None and known.any():
        high, low = _across(course.numbers[known], departures[known], marked, width)
        reach = min(middle, height - 1 - middle)
        up, down = np.rint(high * reach / scale), np.rint(low * reach / scale)
        above = middle - np.arange(height)[:, None]
        lit = ((above > 0) & (above <= up)) | ((above < 0) & (above >= down))
        out = np.isin(course.numbers[known], marked.abrupt).astype(np.float64)
        jumps = _across(course.numbers[known], out, marked, width)[0] > 0
        lay(plot, dotted(lit & ~jumps, unicode, BAR), Ink.LUMA)
        lay(plot, dotted(lit & jumps, unicode, "!"), Ink.WARNING)
    for column, glyph in enumerate("flicker" if departures is not None else "flicker: not yet known"):
        if column < plot.shape[1]:
            plot.under(0, column, glyph, Ink.FAINT)
    return cells


def _zero(height: int, width: int, row: int, unicode: bool) -> Grid:
    grid = np.zeros((height, width), np.bool_)
    grid[row, :: 4 if unicode else 2] = True
    return grid


def _across(numbers: npt.NDArray[np.int64], values: Levels, marked: Marked, width: int) -> tuple[Levels, Levels]:
    """The highest and the lowest value in every column: of the frames in it, else of the nearest frame."""
    span = marked.last - marked.first + 1
    at = marked.first - 0.5 + (np.arange(width) + 0.5) * span / width
    nearest = np.searchsorted((numbers[1:] + numbers[:-1]) / 2, at)
    high, low = values[nearest].copy(), values[nearest].copy()
    columns = ((numbers - marked.first + 0.5) * width / span).astype(np.intp)
    np.maximum.at(high, columns, values)
    np.minimum.at(low, columns, values)
    return high, low


def _band(top: Rows, bottom: Rows, height: int) -> Grid:
    row = np.arange(height)[:, None]
    return np.asarray((row >= top) & (row <= bottom) & ((row + np.arange(len(top))) % 2 == 0))


def _line(top: Rows, bottom: Rows, height: int) -> Grid:
    """A line in which each column reaches the end of the previous one, so that there is no gap."""
    upper, lower = top.copy(), bottom.copy()
    upper[1:] = np.where(bottom[:-1] < top[1:], bottom[:-1] + 1, upper[1:])
    lower[1:] = np.where(top[:-1] > bottom[1:], top[:-1] - 1, lower[1:])
    row = np.arange(height)[:, None]
    return np.asarray((row >= np.minimum(upper, top)) & (row <= np.maximum(lower, bottom)))


def _named(marked: Marked) -> set[int]:
    return {marked.here, marked.judged, *marked.abrupt, *marked.broken, *marked.keyframes}


def _write_marks(cells: Cells, row: int, marked: Marked, places: dict[int, int]) -> None:
    """The marks, and below them the numbers of the current frame and, where they differ and fit, the first and last."""
    columns = cells.shape[1]
    for glyph, ink, numbers in (
        ("!", Ink.WARNING, marked.abrupt),
        ("x", Ink.WARNING, marked.broken),
        ("+", Ink.KEY, marked.keyframes),
        ("@", Ink.KEY, (marked.judged,)),
        ("^", Ink.CHOSEN, (marked.here,)),
    ):
        for number in numbers:
            cells.put(row, places[number], glyph, ink)
    here = str(marked.here)
    start = min(max(places[marked.here] - len(here) // 2, MARGIN), columns - len(here))
    for number, at in ((marked.first, MARGIN), (marked.last, columns - len(str(marked.last)))):
        if number != marked.here and (at + len(str(number)) < start or at > start + len(here)):
            cells.write(row + 1, at, str(number), Ink.FAINT)
    cells.write(row + 1, start, here, Ink.CHOSEN)
