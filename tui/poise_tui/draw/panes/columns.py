"""The columns of the reel view: which shots each stands for, and how far their levels reach."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from poise.scopes.reel import BANDS, FIGURES, Figures
from poise_tui.draw.panes.listing import first_row

COLOURS = ("red", "green", "blue")
_PLACES = [[[one.channel for one in FIGURES].index(colour) + band for colour in COLOURS] for band in range(len(BANDS))]
"""Where black, middle and white of red, green and blue stand among the figures of a shot."""

APART, FAULT, UNKNOWN, KNOWN = "!", "x", ".", " "
"""What stands over a column; the first that holds for any of its shots."""

Levels = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Columns:
    """What the reel view shows; shots are counted by their places in the list.

    Attributes:
        first: the first shot in sight.
        each: how many shots stand in a column.
        chosen: the shot in hand.
        shown, behind: (columns, 2, 3, 3) per cent: the lowest and the highest black, middle and white of red, green
            and blue among the shots of a column; NaN where none is known. Nothing stands behind if None.
        marks: one character a column.
        middle: (3,) per cent, the reel's black, middle and white.
        apart: (shots,) which stand apart.
    """

    first: int
    each: int
    chosen: int
    shown: Levels
    behind: Levels | None
    marks: str
    middle: Levels
    apart: npt.NDArray[np.bool_]

    @property
    def place(self) -> int:
        """Which column has the shot in hand."""
        return (self.chosen - self.first) // self.each

    @property
    def last(self) -> int:
        """The last shot in sight."""
        return min(self.first + self.each * len(self.shown), len(self.apart)) - 1


def columns(
    listed: npt.NDArray[np.int64],
    shown: Figures,
    behind: Figures | None,
    middle: Figures,
    apart: npt.NDArray[np.bool_],
    faults: npt.NDArray[np.bool_],
    chosen: int,
    each: int,
    count: int,
    before: int = 0,
) -> Columns:
    """Put shots into columns.

    Args:
        listed: which shots, in order.
        shown, behind: (shots, FIGURES) of all shots, listed or not; NaN where they are not known.
        middle: (FIGURES,) of the reel.
        apart, faults: (shots,) which stand apart, and which can't be measured.
        chosen: the place of the shot in hand in the list, which is in sight.
        each: shots a column.
        count: columns there is room for.
        before: the first shot in sight until now.
    """
    whole = -(-len(listed) // each)
    first = each * first_row(chosen // each, whole, count, before // each)
    here = min(max(count, 1), whole - first // each)
    seen = listed[first : first + each * here]
    marks = "".join(
        APART if apart[group].any()
        else FAULT if faults[group].any()
        else UNKNOWN if not np.isfinite(shown[group, 0]).all()
        else KNOWN
        for group in np.split(seen, range(each, len(seen), each))
    )  # fmt: skip
    levels = _ends(shown[seen], each, here)
    past = None if behind is None else _ends(behind[seen], each, here)
    return Columns(first, each, chosen, levels, past, marks, middle[: len(BANDS)], apart[listed])


def _ends(rows: Figures, each: int, count: int) -> Levels:
    """(count, 2, 3, 3) lowest and highest of each column."""
    levels = np.full((count * each, len(BANDS), len(COLOURS)), np.nan)
    levels[: len(rows)] = rows[:, _PLACES]
    grouped = levels.reshape(count, each, len(BANDS), len(COLOURS))
    return np.stack([np.fmin.reduce(grouped, axis=1), np.fmax.reduce(grouped, axis=1)], axis=1)
