"""Ranges: the hues, chromas and lumas of a picture, and which of them a matte takes, on three axes."""

from dataclasses import dataclass
from functools import lru_cache
from math import isfinite

import numpy as np
import numpy.typing as npt

from poise.chain.matte import hue_membership, membership
from poise.correction.model import HueInterval, Interval, Matte
from poise.scopes import Colours, targets
from poise.scopes.waveform import Counts
from poise_tui.draw import braille
from poise_tui.draw.cells import Cells, Ink
from poise_tui.draw.plain import TRACE

MARGIN = 7
"""The columns of the names, the longest of six letters and a blank; narrow drawings have none."""
NARROWEST = 8
"""Below this many columns an axis has no name."""
ROUND = 360.0
FULL_CHROMA = 0.6
"""The end of the chroma axis: R'G'B' in 0..1 reaches 0.596, green of BT.709, so the rest up to 1 would be empty."""

OUTSIDE, SOFT, INSIDE = 0, 2, 3
"""Steps of the trace's ink that differ even in sixteen colours."""
_GLYPHS = np.array([".", "", "-", "="])
"""By step."""
Shares = npt.NDArray[np.float64]


@dataclass(frozen=True)
class _Band:
    """One axis and what belongs to it.

    Attributes:
        full: the value at its right edge.
        top: the value where its bins end.
        at: the value of the colour under the cursor.
    """

    name: str
    counts: Counts
    interval: HueInterval | Interval
    full: float
    top: float
    at: float | None


def draw_ranges(
    colours: Colours,
    matte: Matte,
    at: tuple[float, float, float] | None,
    columns: int,
    rows: int,
    unicode: bool = True,
) -> Cells:
    """Hue, chroma and luma below each other, each with its histogram above its axis.

    The axis has `=` in the range, `-` in its softness, `.` outside, `[` at its low end, `]` at its high end, and `|` if
    both ends are in one cell. A hue range that wraps has its high end left of its low end, `==]...[==`; so does an
    empty one, without the `=`. The letters of the colour bars are at their hues. Ranges are shown as they are set:
    inverting a matte inverts all three together, and none by itself. The chroma axis ends at FULL_CHROMA; a range that
    ends at 1 and counts beyond that are drawn at its right edge.

    Args:
        at: hue in degrees (nan for a neutral), chroma and luma of the colour under the cursor, marked `^`.
        columns, rows: in all. With fewer than six rows there are no histograms, with fewer than three no lower axes.
    """
    return _ranges(colours, matte.hue, matte.chroma, matte.luma, at, columns, rows, unicode)


@lru_cache(maxsize=2)
def _ranges(
    colours: Colours,
    hue: HueInterval,
    chroma: Interval,
    luma: Interval,
    at: tuple[float, float, float] | None,
    columns: int,
    rows: int,
    unicode: bool,
) -> Cells:
    """The drawing, cached since it stays the same while the correction inside changes."""
    cells = Cells.blank(rows, columns)
    marks = at or (None, None, None)
    bands = (
        _Band("hue", colours.hue, hue, ROUND, ROUND, marks[0]),
        _Band("chroma", colours.chroma, chroma, FULL_CHROMA, 1.0, marks[1]),
        _Band("luma", colours.luma, luma, 1.0, 1.0, marks[2]),
    )
    margin = MARGIN if columns >= MARGIN + NARROWEST else 0
    below = 0
    for place, band in enumerate(bands):
        height = (rows + 2 - place) // 3  # remaining rows go to the upper axes
        below += height
        if height > 0 and columns > 0:
            cells.write(below - 1, 0, band.name, Ink.FAINT, margin)
            cells.paste(below - height, margin, _drawn(band, columns - margin, height, unicode))
    return cells


def cell_on(value: float, full: float, columns: int) -> int:
    """The cell of a value on an axis from 0 to `full`; the nearest for a value beyond.

    Example:
        >>> cell_on(180, 360, 50), cell_on(1.0, 0.6, 50)
        (25, 49)
    """
    return int(min(max(value / full * columns, 0), columns - 1))


def _drawn(band: _Band, columns: int, rows: int, unicode: bool) -> Cells:
    axis = _axis(band.interval, band.full, columns)
    cells = Cells.blank(rows, columns)
    cells.paste(rows - 1, 0, axis)
    if rows > 1:
        across = braille.ACROSS if unicode else 1
        heights = _heights(band.counts, band.full / band.top, columns * across, (rows - 1) * braille.DOWN)
        bars = _braille(heights, rows - 1) if unicode else _plain(heights, rows - 1)
        bars.steps[...] = axis.steps
        cells.paste(0, 0, bars)
    if band.at is not None and isfinite(band.at):
        place = cell_on(band.at, band.full, columns)
        glyph = str(cells.glyphs[-1, place])
        # an end stays visible below the mark, in the mark's ink
        cells.put(rows - 1, place, glyph if glyph in "[]|" else "^", Ink.MARK)
    return cells


@lru_cache(maxsize=32)
def _axis(interval: HueInterval | Interval, full: float, columns: int) -> Cells:
    """The range on its axis, (1, columns); its steps apply to the histogram above it too."""
    cells = Cells.blank(1, columns)
    values = (np.arange(columns) + 0.5) / columns * full
    round_ = isinstance(interval, HueInterval)
    shares = hue_membership(values, interval) if isinstance(interval, HueInterval) else membership(values, interval)
    first, last = cell_on(interval.low, full, columns), cell_on(interval.high, full, columns)
    empty = not round_ and interval.low > interval.high
    if not empty:
        shares[[first, last]] = 1  # a range too narrow for the middle of a cell shows as its ends
    cells.steps[0] = np.where(shares >= 1, INSIDE, np.where(shares > 0, SOFT, OUTSIDE))
    cells.glyphs[0] = _GLYPHS[cells.steps[0]]
    cells.inks[0] = Ink.LUMA
    for target in targets() if round_ else ():
        cells.put(0, cell_on(target.angle, full, columns), target.name[0].upper(), Ink.TITLE)
    if first != last:
        cells.put(0, first, "[", Ink.TEXT)
        cells.put(0, last, "]", Ink.TEXT)
    elif not empty:
        cells.put(0, first, "|", Ink.TEXT)
    return cells


def _heights(counts: Counts, share: float, columns: int, full: int) -> npt.NDArray[np.int64]:
    """The height of each column, 0..full, by the square root, so that small counts show beside large ones.

    Args:
        share: of the bins that the axis shows; the last column includes those beyond.
    """
    bins = max(round(len(counts) * share), 1)
    starts = np.arange(columns) * bins // columns
    # the mean of a column's bins, since some columns have one bin more than others
    means = np.add.reduceat(counts, starts) / np.maximum(np.diff(starts, append=bins), 1)
    heights = np.rint(np.sqrt(means / max(float(means.max()), 1e-9)) * full)
    result: npt.NDArray[np.int64] = np.where(means > 0, np.maximum(heights, 1), 0).astype(np.int64)
    return result


def _braille(heights: npt.NDArray[np.int64], rows: int) -> Cells:
    levels = np.arange(rows * braille.DOWN, 0, -1)[:, None]
    return braille.braille(heights >= levels)


def _plain(heights: npt.NDArray[np.int64], rows: int) -> Cells:
    """Bars in plain characters, as high as in braille: the uppermost cell by the density of its character."""
    over = heights - np.arange(rows - 1, -1, -1)[:, None] * braille.DOWN
    glyphs = np.array([" ", *TRACE])[np.clip(over, 0, len(TRACE))]
    cells = Cells.blank(rows, len(heights))
    cells.glyphs[...] = glyphs
    cells.inks[...] = np.where(over > 0, int(Ink.LUMA), int(Ink.NONE))
    return cells
