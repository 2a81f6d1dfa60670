"""Black and white point: the 0.5th and 99.5th percentile of luma go near 0 and 1, inside guards."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from poise.colour.luma import luma, weights
from poise.correction.model import Levels

Array = npt.NDArray[np.float64]

AIM_BLACK, AIM_WHITE = 0.012, 0.965
"""Blacks at black without crushing, whites near white without clipping (common practice, no source)."""
NEAR_BLACK, NEAR_WHITE = 0.012, 0.025
"""Closer to the aim than this is left alone."""
MOST_GAIN = 4.0
MOST_BLACK = 0.35
GUARD = 0.5
"""Per cent of the pixels that may fall to 0, or rise to 1, in any one channel."""
MOST_LOST = 0.02
"""Share of the pixels that a starting point, or a match, may crush or clip before it holds back, or says so."""


@dataclass(frozen=True)
class Stretch:
    """Levels, and the sentence that says what was done."""

    levels: Levels
    note: str

    @property
    def gain(self) -> float:
        return 1 / (self.levels.white - self.levels.black)


def solve_levels(code: Array, primaries: str) -> Stretch:
    """The black and white point of a picture.

    Args:
        code: (..., 3) work code after the light stage, unclamped.
    """
    rgb = code.reshape(-1, 3)
    rgb = rgb[np.isfinite(rgb).all(axis=1)]
    if not len(rgb):
        return Stretch(Levels(), "no valid pixels: levels left alone")
    y = luma(rgb[:, 0], rgb[:, 1], rgb[:, 2], weights(primaries))
    low, high = np.percentile(y, [0.5, 99.5])
    if high - low < 0.02:
        return Stretch(Levels(), "the picture is flat, all one level: levels left alone")
    if abs(low - AIM_BLACK) < NEAR_BLACK and abs(high - AIM_WHITE) < NEAR_WHITE:
        return Stretch(Levels(), "black and white are where they should be: left alone")
    reach = max((high - low) / (AIM_WHITE - AIM_BLACK), 1 / MOST_GAIN)
    black = low - AIM_BLACK * reach
    white = black + reach
    notes = []
    if black > MOST_BLACK:
        black, notes = MOST_BLACK, ["black point held: too high to be a lifted black"]
    dark, bright = np.percentile(rgb, GUARD, axis=0).min(), np.percentile(rgb, 100 - GUARD, axis=0).max()
    dark = max(dark, 0.0)  # what the light stage sent below 0 is lost wherever the black point stands
    if black > dark:
        black, notes = float(dark), [*notes, "black point held so that no channel is crushed"]
    if white < bright:
        white, notes = float(bright), [*notes, "white point held so that no channel is clipped"]
    if white - black < 1 / MOST_GAIN:
        white, notes = (
            black + 1 / MOST_GAIN,
            [*notes, f"stretch held at x{MOST_GAIN:g}: the picture may be dark on purpose"],
        )
    levels = Levels(black=round(float(black), 4), white=round(float(white), 4))
    said = f"black point {levels.black:.3f}, white point {levels.white:.3f}"
    return Stretch(levels, "; ".join([said, *notes]))
