"""Black and white point: the lowest floor of the channels goes to 0, the end of the highlights near 1, inside guards.

Both are told from noise (`poise.solve.ends`). No channel is clipped in more than half a per cent of the pixels.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from poise.colour.luma import luma, weights
from poise.correction.model import Levels
from poise.solve.ends import ends, highest

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

AIM_WHITE = 0.965
"""Where the brightest of a picture that has far more than white goes (common practice, no source)."""
HIGHLIGHTS, AIM_HIGHLIGHTS = 1e-3, 0.975
"""The share of the pixels that lies at the highlights' end or above, and where that goes."""
BRIGHT = 99.5
"""Percentile of the brightest channel that is never clipped, and is white in a picture that has more."""
NEAR_BLACK, NEAR_WHITE = 0.012, 0.03
"""An end closer to 0, or to 1, than this is left alone."""
FLATTEST = 0.02
"""A picture of less range than this in code is all one level."""
MOST_GAIN = 4.0
MOST_BLACK = 0.35
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


def solve_levels(code: Array, noise: Array, primaries: str, spoilt: Mask | None = None) -> Stretch:
    """The black and white point of a picture.

    Args:
        code: (height, width, 3) work code after the light stage, unclamped.
        noise: (3,) its standard deviation.
        spoilt: (height, width) pixels that some channels were clipped in, which makes their luma wrong.
    """
    rgb = code[np.isfinite(code).all(axis=-1)]
    if not len(rgb):
        return Stretch(Levels(), "no valid pixels: levels left alone")
    by = weights(primaries)
    y = luma(code[..., 0], code[..., 1], code[..., 2], by)
    known = np.isfinite(y) if spoilt is None else np.isfinite(y) & ~spoilt
    top = highest(np.where(known, y, 0), float(luma(noise[0], noise[1], noise[2], by)), HIGHLIGHTS) / AIM_HIGHLIGHTS
    bright = float(np.percentile(rgb, BRIGHT, axis=0).max())
    black = max(float(ends(code, noise).low.min()), 0.0)  # what light sent below 0 is lost already
    white = max(top, bright)
    if white * AIM_HIGHLIGHTS - black < FLATTEST:
        return Stretch(Levels(), "the picture is flat, all one level: levels left alone")
    if white > 1:
        white = max(bright / AIM_WHITE, 1.0) if bright > 1 + NEAR_WHITE else 1.0
    black, white = 0.0 if black < NEAR_BLACK else black, 1.0 if abs(1 - white) < NEAR_WHITE else white
    if (black, white) == (0, 1):
        return Stretch(Levels(), "black and white are where they should be: left alone")
    notes = []
    if black > MOST_BLACK:
        black, notes = MOST_BLACK, ["black point held: too high to be a lifted black"]
    if white - black < 1 / MOST_GAIN:
        white = black + 1 / MOST_GAIN
        notes.append(f"stretch held at x{MOST_GAIN:g}: the picture may be dark on purpose")
    levels = Levels(black=round(black, 4), white=round(white, 4))
    said = f"black point {levels.black:.3f}, white point {levels.white:.3f}"
    return Stretch(levels, "; ".join([said, *notes]))
