"""The histogram turned on its side, so that its levels have the same scale as the waveform's."""

from typing import Any

import numpy as np
import numpy.typing as npt

from poise.scopes.levels import WHOLE, Scale
from poise.scopes.waveform import Counts
from poise_tui.draw.cells import Cells, Ink
from poise_tui.draw.scopes.graticule import MARGIN, graticule
from poise_tui.draw.scopes.traces import grain, side_by_side

LETTERS = (("Y", Ink.LUMA), ("R", Ink.RED), ("G", Ink.GREEN), ("B", Ink.BLUE))
NARROWEST = 3
"""The least useful columns of a bar."""


def draw_histogram(counts: Counts, columns: int, unicode: bool = True, scale: Scale = WHOLE) -> Cells:
    """Luma, red, green and blue side by side; bars grow to the right, the top of the scale above.

    Args:
        counts: (4, bins), lowest first; the rows wanted times the rows of a cell in `grain`.
        columns: cells in all, including the figures; `marks` says which channels fit.
    """
    shown = marks(columns)
    width = max((columns - MARGIN - len(shown) + 1) // len(shown), 1)
    bars = np.stack([_bars(row, width * grain(unicode).across) for row in counts[: len(shown)]])
    cells = side_by_side(bars, [ink for _, ink in shown], unicode, solid=True)
    cells.steps[...] = 2  # only the length of a bar counts, so its brightness is uniform
    return graticule(cells, unicode, scale)


def marks(columns: int) -> tuple[tuple[str, Ink], ...]:
    """The letters and inks of the channels that fit side by side; luma alone where there is little room."""
    return LETTERS if (columns - MARGIN - 3) // 4 >= NARROWEST else LETTERS[:1]


def _bars(row: npt.NDArray[Any], width: int) -> Counts:
    """One bar per bin, top bin first; lengths follow the square root, so that small counts show beside large ones."""
    share = np.sqrt(row[::-1] / max(int(row.max()), 1))
    lengths = np.where(row[::-1] > 0, np.maximum(np.rint(share * width), 1), 0)
    return (np.arange(width) < lengths[:, None]).astype(np.int64)
