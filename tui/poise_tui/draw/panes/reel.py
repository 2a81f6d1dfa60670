"""The reel view as cells: one column per shot or several shots, with red, green and blue from left to right.

Each is a thin stem from its black to its white, with bars at black, middle and white. The corrected levels are bright
bars of full width that interrupt the stem; the levels before are faint bars of half width beside it, so that the two
differ without colours. In plain characters they are R G B and r g b.
"""

import numpy as np
import numpy.typing as npt

from poise.scopes.levels import WHOLE, Scale, row_of, rows_of
from poise_tui.draw import braille
from poise_tui.draw.cells import STEPS, Cells, Ink
from poise_tui.draw.panes.columns import FAULT, OUTLIER, Columns
from poise_tui.draw.scopes.graticule import MARGIN, graticule
from poise_tui.draw.scopes.traces import CHANNELS, grain

RIGHT = 4
"""Cells for the figures of the reel's middle."""
WIDEST = 4
"""The most cells of a channel."""
ABOUT = 2
"""Rows above and below the plot: of marks, and of numbers."""
LEVEL = ("\u2809", "\u2812", "\u2824", "\u28c0")
"""Braille patterns of two dots side by side, from top to bottom."""

Grid = npt.NDArray[np.bool_]


def room(columns: int, wanted: int) -> tuple[int, int]:
    """How many columns of the reel fit in a number of cells, and how many cells each channel gets.

    Args:
        wanted: how many columns there are; channels are wider if all of them fit.

    Example:
        >>> room(58, 200), room(58, 7)
        ((12, 1), (7, 2))
    """
    free = columns - MARGIN - RIGHT
    wide = next((w for w in range(WIDEST, 1, -1) if wanted * _size(w) <= free), 1)
    return max(free // _size(wide), 1), wide


def _size(wide: int) -> int:
    """Cells of a column: its channels, and a blank one."""
    return len(CHANNELS) * wide + 1


def draw_reel(reel: Columns, wide: int, rows: int, unicode: bool = True, scale: Scale = WHOLE) -> Cells:
    """The reel view with its scale, marks above and numbers below the columns, and an overview if not all is on screen.

    Args:
        wide: cells of a channel.
        rows: in all; if they are too few, more are returned.
    """
    count, size = len(reel.shown), _size(wide)
    scrolled = count * reel.each < len(reel.outliers) and rows > ABOUT + 1
    height = max(rows - ABOUT - scrolled, 1)
    whole = Cells.blank(max(rows, ABOUT + 1), MARGIN + count * size + RIGHT)
    whole.paste(1, 0, graticule(_marks(reel, wide, height, unicode, scale), unicode, scale))
    _lay_middle(whole, reel, size, height, unicode, scale)
    for place, mark in enumerate(reel.marks):
        ink = Ink.WARNING if mark in (OUTLIER, FAULT) else Ink.FAINT
        whole.write(0, MARGIN + place * size + (size - 1) // 2, mark, ink)
    _lay_numbers(whole, reel, size, height + 1)
    if scrolled:
        _lay_overview(whole, reel, height + 2, count * size, unicode)
    return whole


def _marks(reel: Columns, wide: int, height: int, unicode: bool, scale: Scale) -> Cells:
    """The levels alone."""
    fine, size = grain(unicode), _size(wide)
    width = len(reel.shown) * size
    dots, half = wide * fine.across, wide * fine.across // 2
    stems, faint, bright = np.zeros((3, height * fine.down, width * fine.across), bool)
    stretched = np.stack([reel.shown[:, 0, :1], reel.shown[:, 1, -1:]], axis=1)  # from black to white
    _fill(stems, stretched, size * fine.across, dots, slice(half, half + 1), scale)
    if reel.behind is not None:
        _fill(faint, reel.behind, size * fine.across, dots, slice(0, max(half, 1)), scale)
    _fill(bright, reel.shown, size * fine.across, dots, slice(0, dots), scale)
    channels = np.arange(width) % size // wide
    if unicode:
        around = bright.copy()
        around[1:] |= bright[:-1]
        around[:-1] |= bright[1:]
        stems &= ~around
        cells = braille.braille((stems | faint | bright).astype(np.int64))
    else:
        cells = Cells.blank(height, width)
        cells.glyphs[stems] = "|"
    for place, (letter, ink) in enumerate(CHANNELS):
        mine = channels == place
        if not unicode:
            cells.glyphs[faint & mine] = letter.lower()
            cells.glyphs[bright & mine] = letter
        cells.inks[(cells.glyphs != " ") & mine] = ink
    strong, weak = (part.reshape(height, fine.down, width, -1).any(axis=(1, 3)) for part in (bright, faint))
    cells.steps[...] = np.where(strong, STEPS - 1, np.where(weak, 1, 0))
    return cells


def _fill(grid: Grid, ends: npt.NDArray[np.float64], column: int, channel: int, across: slice, scale: Scale) -> None:
    """Lights the dots between the lowest and the highest level of every column, band and channel.

    Args:
        ends: (columns, 2, bands, 3) per cent.
        column, channel: dots of each across.
        across: which of the dots of a channel.
    """
    one, band, colour = np.nonzero(np.isfinite(ends).all(axis=1))
    low, high = (rows_of(ends[one, end, band, colour] / 100, len(grid), scale) for end in (0, 1))
    top, below = np.clip(high, 0, len(grid)), np.clip(low + 1, 0, len(grid))
    begun = np.zeros((len(grid) + 1, grid.shape[1]), np.int64)
    for dot in range(across.start, across.stop):
        at = one * column + colour * channel + dot
        np.add.at(begun, (top, at), 1)
        np.add.at(begun, (below, at), -1)
    grid |= begun[:-1].cumsum(axis=0) > 0


def _lay_middle(cells: Cells, reel: Columns, size: int, height: int, unicode: bool, scale: Scale) -> None:
    """The reel's black, middle and white: a dash between the columns, and its figure on the right."""
    down, end = grain(unicode).down, MARGIN + len(reel.shown) * size
    for level in reel.middle[np.isfinite(reel.middle)][::-1]:
        dot = row_of(level / 100, height * down, scale)
        if not 0 <= dot < height * down:
            continue
        row = 1 + dot // down
        gaps = slice(MARGIN + size - 1, end, size)
        cells.glyphs[row, gaps], cells.inks[row, gaps] = LEVEL[dot % down] if unicode else "=", Ink.MARK
        if cells.glyphs[row, end + RIGHT - 2] == " ":
            cells.write(row, end, f"{level:>{RIGHT - 1}.0f}", Ink.MARK)


def _lay_numbers(cells: Cells, reel: Columns, size: int, row: int) -> None:
    """The number of the first shot of a column where there is room; always that of the current shot."""
    every = -(-(len(str(len(reel.outliers))) + 1) // size)
    for place in range(0, len(reel.shown), every):
        if abs(place - reel.place) >= every:
            cells.write(row, MARGIN + place * size, f"{reel.first + place * reel.each + 1}", Ink.FAINT)
    cells.write(row, MARGIN + reel.place * size, f"{reel.chosen + 1:<{size - 1}}", Ink.CHOSEN)


def _lay_overview(cells: Cells, reel: Columns, row: int, width: int, unicode: bool) -> None:
    """The overview: which part of the reel is on screen, and where the outliers are."""
    shots = len(reel.outliers)
    inside, outside = ("\u2501", "\u2500") if unicode else ("=", "-")
    low, high, chosen = (MARGIN + shot * width // shots for shot in (reel.first, reel.last, reel.chosen))
    outliers = MARGIN + np.flatnonzero(reel.outliers) * width // shots
    for there, glyph, ink in (
        (slice(MARGIN, MARGIN + width), outside, Ink.GRATICULE),
        (slice(low, high + 1), inside, Ink.TEXT),
        (outliers, OUTLIER, Ink.WARNING),
    ):
        cells.glyphs[row, there], cells.inks[row, there] = glyph, ink
    cells.put(row, chosen, "+", Ink.CHOSEN)
