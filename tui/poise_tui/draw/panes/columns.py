"""The columns of the reel view: the shots that each shows, and the range of their levels."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from poise.scopes.reel import BANDS, FIGURES, Figures
from poise_tui.draw.panes.listing import first_row

COLOURS = ("red", "green", "blue")
_PLACES = [[[one.channel for one in FIGURES].index(colour) + band for colour in COLOURS] for band in range(len(BANDS))]
"""The indexes of black, middle and white of red, green and blue among the figures of a shot."""

OUTLIER, FAULT, UNKNOWN, KNOWN = "!", "x", ".", " "
"""The mark above a column: the first that applies to any of its shots."""

Levels = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Columns:
    """The content of the reel view; shots are counted by their rows in the list.

    Attributes:
        first: the first shot on screen.
        each: how many shots one column shows.
        chosen: the current shot.
        shown, behind: (columns, 2, 3, 3) per cent: the lowest and the highest black, middle and white of red, green
            and blue among the shots of a column; NaN if none is known. `behind`, if any, is drawn behind.
        marks: one character per column.
        middle: (3,) per cent, the reel's black, middle and white.
        outliers: (shots,) True for outliers.
    """

    first: int
    each: int
    chosen: int
    shown: Levels
    behind: Levels | None
    marks: str
    middle: Levels
    outliers: npt.NDArray[np.bool_]

    @property
    def place(self) -> int:
        """The column of the current shot."""
        return (self.chosen - self.first) // self.each

    @property
    def last(self) -> int:
        """The last shot on screen."""
        return min(self.first + self.each * len(self.shown), len(self.outliers)) - 1


def columns(
    listed: npt.NDArray[np.int64],
    shown: Figures,
    behind: Figures | None,
    middle: Figures,
    outliers: npt.NDArray[np.bool_],
    faults: npt.NDArray[np.bool_],
    chosen: int,
    each: int,
    count: int,
    before: int = 0,
) -> Columns:
    """Puts shots into columns.

    Args:
        listed: the indexes of the listed shots, in order.
        shown, behind: (shots, FIGURES) of all shots, listed or not; NaN until they are known.
        middle: (FIGURES,) of the reel.
        outliers, faults: (shots,) True for outliers, and for shots that can't be measured.
        chosen: the row of the current shot in the list; always on screen.
        each: shots per column.
        count: how many columns fit.
        before: the first shot on screen until now.
    """
    whole = -(-len(listed) // each)
    first = each * first_row(chosen // each, whole, count, before // each)
    here = min(max(count, 1), whole - first // each)
    seen = listed[first : first + each * here]
    marks = "".join(
        OUTLIER if outliers[group].any()
        else FAULT if faults[group].any()
        else UNKNOWN if not np.isfinite(shown[group, 0]).all()
        else KNOWN
        for group in np.split(seen, range(each, len(seen), each))
    )  # fmt: skip
    levels = _ends(shown[seen], each, here)
    past = None if behind is None else _ends(behind[seen], each, here)
    return Columns(first, each, chosen, levels, past, marks, middle[: len(BANDS)], outliers[listed])


def _ends(rows: Figures, each: int, count: int) -> Levels:
    """(count, 2, 3, 3) the lowest and the highest levels of each column."""
    levels = np.full((count * each, len(BANDS), len(COLOURS)), np.nan)
    levels[: len(rows)] = rows[:, _PLACES]
    grouped = levels.reshape(count, each, len(BANDS), len(COLOURS))
    return np.stack([np.fmin.reduce(grouped, axis=1), np.fmax.reduce(grouped, axis=1)], axis=1)
