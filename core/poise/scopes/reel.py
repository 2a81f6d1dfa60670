"""The reel: how every shot stands beside all others, and which of them stand apart, by a robust rule.

Black, middle and white of luma, red, green and blue, and how far red, green and blue stand apart at each, are compared
with their medians over the reel. A shot stands apart where its modified z-score, |x - median| / (1.4826 MAD), is over
3.5 (Iglewicz and Hoaglin, How to Detect and Handle Outliers, ASQC 1993; 1.4826 makes the median absolute deviation
the standard deviation of a normal distribution). Half the shots may be off without moving the rule.
"""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from poise.scopes.readings import Readings

BANDS = ("black", "middle", "white")
CHANNELS = ("luma", "red", "green", "blue")
THRESHOLD = 3.5
"""The modified z-score over which Iglewicz and Hoaglin call a value an outlier."""
TO_DEVIATION = 1.4826
"""From a median absolute deviation to the standard deviation of a normal distribution."""
LEAST = 2.0
"""Per cent of full signal: a smaller difference never stands apart, however even the reel (common practice, no
source)."""
LEAST_SHOTS = 5
"""A reel of fewer has no middle to stand apart from (common practice, no source)."""

Figures = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Standing:
    """The readings of a shot before and after its correction, in work code."""

    before: Readings
    after: Readings


@dataclass(frozen=True)
class Figure:
    """One of the figures by which shots are compared.

    Attributes:
        band: black, middle or white.
        channel: luma, red, green or blue; empty for the spread of the three colours at that band.
    """

    band: str
    channel: str

    @property
    def spread(self) -> bool:
        return not self.channel


FIGURES: tuple[Figure, ...] = tuple(Figure(band, channel) for channel in (*CHANNELS, "") for band in BANDS)
"""Channel by channel, each at black, middle and white; the three spreads are last."""
_SPREADS = np.array([figure.spread for figure in FIGURES])


@dataclass(frozen=True)
class Reason:
    """Why a shot stands apart: one of its figures, and what the reel's are.

    Attributes:
        value, median, deviation: per cent of full signal; the deviation is 1.4826 MAD.
        score: how many deviations the value is from the median.
    """

    figure: Figure
    value: float
    median: float
    deviation: float
    score: float

    def __str__(self) -> str:
        """In words.

        Example:
            >>> str(Reason(Figure("white", "blue"), 71.2, 93.4, 1.6, -13.9))
            "white of blue 71 %, the reel's is 93 ± 2"
        """
        figure, value = self.figure, f"{self.value:.0f} %"
        spread = f"red, green and blue {value} apart at {figure.band}"
        what = spread if figure.spread else f"{figure.band} of {figure.channel} {value}"
        return f"{what}, the reel's is {self.median:.0f} ± {self.deviation:.0f}"


@dataclass(frozen=True, eq=False)
class Reel:
    """The figures of all shots, and their middle.

    Attributes:
        figures: (shots, FIGURES) per cent of full signal; NaN for a shot that is not counted.
        median, deviation: (FIGURES,) over the shots that count; NaN if none does. The deviation is 1.4826 MAD.
        scores: (shots, FIGURES) how many deviations a figure is from the median; the deviation never counts as less
            than LEAST / THRESHOLD, and a spread below the median as none. 0 where not counted, and all 0 in a reel of
            fewer than LEAST_SHOTS.
        counted: how many shots count.
        threshold: the score over which a shot is an outlier.
    """

    figures: Figures
    median: Figures
    deviation: Figures
    scores: Figures
    counted: int
    threshold: float = THRESHOLD

    @property
    def apart(self) -> npt.NDArray[np.bool_]:
        """(shots,) which stand apart."""
        return np.asarray((np.abs(self.scores) > self.threshold).any(axis=1))

    def reasons(self, shot: int) -> tuple[Reason, ...]:
        """Why a shot stands apart, the strongest first; none where it does not."""
        scores = self.scores[shot]
        order = [int(place) for place in np.argsort(-np.abs(scores), kind="stable")]
        values, median, deviation = self.figures[shot], self.median, self.deviation
        return tuple(
            Reason(FIGURES[i], float(values[i]), float(median[i]), float(deviation[i]), float(scores[i]))
            for i in order
            if abs(scores[i]) > self.threshold
        )


def figures(readings: Readings) -> Figures:
    """The figures of one shot, (FIGURES,), per cent of full signal."""
    channels = (readings.luma, readings.red, readings.green, readings.blue)
    levels = [level for one in channels for level in (one.black, one.median, one.white)]
    spread = readings.spread
    return np.array([*levels, spread.bottom, spread.middle, spread.top])


def reel(figures: Figures, threshold: float = THRESHOLD) -> Reel:
    """Compare shots.

    Args:
        figures: (shots, FIGURES) as `figures` gives them, NaN for shots that don't count.
        threshold: the score over which a shot is an outlier.

    Example:
        >>> even = np.full((6, len(FIGURES)), 50.0)
        >>> even[2, 5] = 71
        >>> [str(reason) for reason in reel(even).reasons(2)]
        ["white of red 71 %, the reel's is 50 ± 0"]
    """
    known = np.isfinite(figures).all(axis=1)
    counted = int(np.count_nonzero(known))
    shape = (len(FIGURES),)
    if not counted:
        return Reel(figures, np.full(shape, np.nan), np.full(shape, np.nan), np.zeros(figures.shape), 0, threshold)
    rows = np.ascontiguousarray(figures[known].T)  # figure by figure, which is several times as quick
    median = np.median(rows, axis=1)
    off = rows - median[:, None]
    deviation = TO_DEVIATION * np.median(np.abs(off), axis=1)
    scores = np.zeros(figures.shape)
    if counted >= LEAST_SHOTS:
        off[_SPREADS] = np.maximum(off[_SPREADS], 0)
        scores[known] = (off / np.maximum(deviation, LEAST / THRESHOLD)[:, None]).T
    return Reel(figures, median, deviation, scores, counted, threshold)


def compared(shots: Iterable[Readings | None], threshold: float = THRESHOLD) -> Reel:
    """Compare shots by their readings; None for one that can't be read or is left out.

    Example:
        compared([measure(picture) for picture in pictures]).apart
    """
    rows = [np.full(len(FIGURES), np.nan) if one is None else figures(one) for one in shots]
    return reel(np.array(rows).reshape(-1, len(FIGURES)), threshold)
