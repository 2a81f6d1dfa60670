"""The reel: compares all shots with each other, and finds the outliers by a robust rule.

Black, median and white of luma, red, green and blue, and the spread of red, green and blue at each, are compared with
their medians over the reel. A shot is an outlier if one of its modified z-scores, |x - median| / (1.4826 MAD), is over
3.5 (Iglewicz and Hoaglin, How to Detect and Handle Outliers, ASQC 1993; 1.4826 makes the median absolute deviation the
standard deviation of a normal distribution). Up to half the shots may be off without moving the rule.
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
"""The smallest difference, in per cent of full signal, that makes an outlier, however even the reel (common practice,
no source)."""
LEAST_SHOTS = 5
"""A reel of fewer shots has no outliers (common practice, no source)."""

Figures = npt.NDArray[np.float64]


@dataclass(frozen=True)
class BeforeAfter:
    """The readings of a shot before and after its correction, in work code."""

    before: Readings
    after: Readings


@dataclass(frozen=True)
class Figure:
    """One of the figures by which shots are compared.

    Attributes:
        band: black, middle or white.
        channel: luma, red, green or blue; empty for the spread of red, green and blue at that band.
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
    """Why a shot is an outlier: one of its figures, compared with the reel.

    Attributes:
        value, median, deviation: per cent of full signal; the deviation is 1.4826 MAD.
        score: the distance of the value from the median, in deviations.
    """

    figure: Figure
    value: float
    median: float
    deviation: float
    score: float

    def __str__(self) -> str:
        """The reason in words.

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
    """The figures of all shots, compared.

    Attributes:
        figures: (shots, FIGURES), per cent of full signal; NaN for a shot that is not counted.
        median, deviation: (FIGURES,), over the counted shots; NaN if there are none. The deviation is 1.4826 MAD.
        scores: (shots, FIGURES), the distance of a figure from the median in deviations, which count as at least
            LEAST / THRESHOLD. 0 for a spread below the median, for a shot not counted, and in a reel of fewer than
            LEAST_SHOTS.
        counted: the number of counted shots.
        threshold: the score above which a shot is an outlier.
    """

    figures: Figures
    median: Figures
    deviation: Figures
    scores: Figures
    counted: int
    threshold: float = THRESHOLD

    @property
    def outliers(self) -> npt.NDArray[np.bool_]:
        """(shots,), True for outliers."""
        return np.asarray((np.abs(self.scores) > self.threshold).any(axis=1))

    def reasons(self, shot: int) -> tuple[Reason, ...]:
        """Why a shot is an outlier, the strongest reason first; empty if it is not one.

        Args:
            shot: its index.
        """
        scores = self.scores[shot]
        order = [int(place) for place in np.argsort(-np.abs(scores), kind="stable")]
        values, median, deviation = self.figures[shot], self.median, self.deviation
        return tuple(
            Reason(FIGURES[i], float(values[i]), float(median[i]), float(deviation[i]), float(scores[i]))
            for i in order
            if abs(scores[i]) > self.threshold
        )


def figures(readings: Readings) -> Figures:
    """The figures of one shot from its readings, (FIGURES,), per cent of full signal."""
    channels = (readings.luma, readings.red, readings.green, readings.blue)
    levels = [level for one in channels for level in (one.black, one.median, one.white)]
    spread = readings.spread
    return np.array([*levels, spread.bottom, spread.middle, spread.top])


def reel(figures: Figures, threshold: float = THRESHOLD) -> Reel:
    """Compare shots by their figures.

    Args:
        figures: (shots, FIGURES), as `figures` returns them; NaN for shots that don't count.
        threshold: the score above which a shot is an outlier.

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
    rows = np.ascontiguousarray(figures[known].T)  # figure by figure, which is several times as fast
    median = np.median(rows, axis=1)
    off = rows - median[:, None]
    deviation = TO_DEVIATION * np.median(np.abs(off), axis=1)
    scores = np.zeros(figures.shape)
    if counted >= LEAST_SHOTS:
        off[_SPREADS] = np.maximum(off[_SPREADS], 0)
        scores[known] = (off / np.maximum(deviation, LEAST / THRESHOLD)[:, None]).T
    return Reel(figures, median, deviation, scores, counted, threshold)


def compared(shots: Iterable[Readings | None], threshold: float = THRESHOLD) -> Reel:
    """Compare shots by their readings.

    Args:
        shots: None for a shot that can't be read or is left out.
        threshold: the score above which a shot is an outlier.

    Example:
        compared([measure(picture) for picture in pictures]).outliers
    """
    rows = [np.full(len(FIGURES), np.nan) if one is None else figures(one) for one in shots]
    return reel(np.array(rows).reshape(-1, len(FIGURES)), threshold)
