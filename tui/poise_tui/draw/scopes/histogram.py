"""Bars: the histogram turned on its side, so that its levels stand on the same scale as the waveform's."""

from typing import Any

import numpy as np
import numpy.typing as npt

from poise.scopes.waveform import Counts
from poise_tui.draw.cells import Cells, Ink
from poise_tui.draw.scopes.graticule import MARGIN, graticule
from poise_tui.draw.scopes.traces import beside, grain

LETTERS = (("Y", Ink.LUMA), ("R", Ink.RED), ("G", Ink.GREEN), ("B", Ink.BLUE))
NARROWEST = 3
"""Columns below which a bar tells nothing."""


def draw_histogram(counts: Counts, columns: int, unicode: bool = True) -> Cells:
    """Luma, red, green and blue side by side; bars grow to the right, 100 % at the top.

    Args:
        counts: (4, bins), lowest first; as many bins as the rows wanted, times the rows of a cell in `grain`.
        columns: cells in all, figures among them; `marks` says what they have room for.
    """
    shown = marks(columns)
    width = max((columns - MARGIN - len(shown) + 1) // len(shown), 1)
    bars = np.stack([_bars(row, width * grain(unicode).across) for row in counts[: len(shown)]])
    cells = beside(bars, [ink for _, ink in shown], unicode)
    cells.steps[...] = 2  # a bar tells by its length, so its brightness is the same all along
    return graticule(cells, unicode)


def marks(columns: int) -> tuple[tuple[str, Ink], ...]:
    """The letters of what stands side by side in so many columns; luma stands alone where there is little room."""
    return LETTERS if (columns - MARGIN - 3) // 4 >= NARROWEST else LETTERS[:1]


def _bars(row: npt.NDArray[Any], width: int) -> Counts:
    """One bar a bin, top bin first; lengths by the square root, so that small counts show beside large ones."""
    share = np.sqrt(row[::-1] / max(int(row.max()), 1))
    lengths = np.where(row[::-1] > 0, np.maximum(np.rint(share * width), 1), 0)
    return (np.arange(width) < lengths[:, None]).astype(np.int64)
