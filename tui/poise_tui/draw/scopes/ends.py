"""The ends: a row above and a row below a trace for what lies at or beyond 100 % and 0 %, with its share.

Bars stand away from the trace, higher where more of a column's pixels lie there. The share of all pixels, in per cent,
is written over the bars of its channel.
"""

from collections.abc import Sequence

import numpy as np

from poise.scopes.waveform import Counts
from poise_tui.draw import plain
from poise_tui.draw.cells import Cells, Ink
from poise_tui.draw.scopes.graticule import MARGIN

ROWS = 2
"""Rows that the ends take."""
LEAST = 7
"""Rows of a trace below which it gets them."""
HEIGHTS = (0.0, 0.01, 0.1, 0.5)
"""A bar is one step higher above each of these shares of a column's pixels."""
_UP = np.array([0, 0x40, 0x44, 0x46, 0x47]), np.array([0, 0x80, 0xA0, 0xB0, 0xB8])
_DOWN = np.array([0, 0x01, 0x03, 0x07, 0x47]), np.array([0, 0x08, 0x18, 0x38, 0xB8])
"""The left and right half of a braille pattern (Unicode, U+2800) with a bar of 0 to 4 dots."""
SIGNS, PLAIN_SIGNS = (" \u2265", " \u2264"), (">=", "<=")
Shares = Sequence[tuple[float, float]]
"""Of each channel: what is at or above 100 % and at or below 0 %, in per cent of the pixels."""


def with_ends(cells: Cells, counts: Counts | None, pixels: int, shares: Shares, unicode: bool = True) -> Cells:
    """A trace of (rows, columns) between its ends: (rows + 2, columns).

    Args:
        cells: with figures; channels side by side with a blank column between them.
        counts: (channels, 2, grid columns) as `poise.scopes.ends` gives them; None for shares alone.
        pixels: how many were counted.
    """
    rows, columns = cells.shape
    whole = Cells.blank(rows + ROWS, columns)
    whole.paste(1, 0, cells)
    each = (columns - MARGIN - len(shares) + 1) // len(shares)
    for end, row in enumerate((0, rows + 1)):
        for column, glyph in enumerate((SIGNS if unicode else PLAIN_SIGNS)[end], 1):
            whole.put(row, column, glyph, Ink.FAINT)
        for place, channel in enumerate(shares):
            start = MARGIN + place * (each + 1)
            if counts is not None and counts[place, end].any():
                _lay_bars(whole, row, start, counts[place, end], pixels, end == 0, unicode)
            _write_share(whole, row, start, each, channel[end])
    return whole


def share(value: float) -> str:
    """A share in at most three characters, rounded to tenths below 10; empty for none.

    Example:
        >>> [share(value) for value in (0, 0.02, 0.4, 9.96, 100)]
        ['', '<.1', '0.4', '10', '100']
    """
    if value <= 0:
        return ""
    if value < 0.05:
        return "<.1"
    return f"{value:.1f}" if round(value, 1) < 10 else f"{value:.0f}"


def _write_share(cells: Cells, row: int, start: int, width: int, value: float) -> None:
    """At the right end of the channel, or at the left one if that hides fewer bars."""
    text = share(value)
    if not text:
        return
    text = f"{text}%" if len(text) + 3 <= width else text
    lit = cells.inks[row, start : start + width] != Ink.NONE
    left = int(lit[: len(text)].sum()) < int(lit[-len(text) :].sum())
    cells.write(row, start if left else start + max(width - len(text), 0), text, Ink.ENDS, width)


def _lay_bars(cells: Cells, row: int, start: int, counts: Counts, pixels: int, up: bool, unicode: bool) -> None:
    part = counts * (len(counts) / max(pixels, 1))
    heights = np.searchsorted(HEIGHTS, part)
    if unicode:
        left, right = _UP if up else _DOWN
        codes = left[heights[0::2]] | right[heights[1::2]]
        glyphs = np.where(codes, 0x2800 | codes, ord(" ")).astype("<u4").view("<U1")
    else:
        glyphs = np.array([" ", *plain.TRACE])[heights]
    place = slice(start, start + len(glyphs))
    cells.glyphs[row, place] = glyphs
    cells.inks[row, place] = np.where(glyphs == " ", int(Ink.NONE), int(Ink.ENDS))
