"""A run held steady: gains in light that carry the level of each frame onto the smooth course of the run.

Neighbouring frames are compared place by place in linear light, after undoing a movement of the whole picture. Places
that changed by another ratio than most, since something moves there, are left out. The course is the smoother of
Whittaker (1923) with second differences, after Eilers, Analytical Chemistry 75 (2003); cuts and steps divide it.
"""

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from poise.scopes.drift import departures, steps, theil_sen

Array = npt.NDArray[np.float64]

PLACE = 6
"""The width and height of a place, in pixels of a `Look`."""
DARKEST = 0.3
"""The share of places, by light, that are too dark to tell: noise and flare are large there."""
LEAST_PLACES = 12
FARTHEST = 0.25
"""The share of its size that a picture moves at most from frame to frame."""
ALIKE, UNLIKE = 2.5, 0.12
"""A place counts if it departs by less than ALIKE standard deviations from most; frames whose places have a standard
deviation of more than UNLIKE stops show different things."""
LEAST_SPREAD = 0.002
"""Stops; a smaller spread of places, as in pictures without noise, leaves none out."""
BACK = 3
"""The frames before it that a frame is compared with, until one shows the same."""
MOST, MOST_COLOUR = 1.0, 0.25
"""The largest gain of exposure, and of red and blue, in stops."""
SIGMA = 1.4826
"""The standard deviation of normal values is this many times their median absolute deviation."""


class Look(NamedTuple):
    """One frame as it is compared.

    Attributes:
        light: (height, width, 3), linear light, without flare; averaged over pixels.
        usable: (height, width), False where a channel is clipped or not finite.
    """

    light: npt.NDArray[np.float32]
    usable: npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Course:
    """The levels of frames of a run, and which of them are of one take.

    Attributes:
        levels: (frames, 4), luma, red, green and blue in stops, against the first frame of the take.
        takes: (frames,), equal for frames that were compared with one another.
    """

    levels: Array
    takes: npt.NDArray[np.int64]

    @property
    def alone(self) -> npt.NDArray[np.intp]:
        """The frames that no other frame could be compared with."""
        count = np.bincount(self.takes) if len(self.takes) else np.zeros(0, int)
        return np.flatnonzero(count[self.takes] == 1)


class Tracker:
    """Takes in frames one after the other, and builds their course."""

    def __init__(self) -> None:
        self._last: list[tuple[Look, Array, int]] = []
        self._levels: list[Array] = []
        self._takes: list[int] = []

    def add(self, look: Look | None) -> None:
        """Take in the next frame; None for one that can't be read."""
        level, take = np.zeros(4), max(self._takes, default=-1) + 1
        if look is not None:
            for other, its, of in reversed(self._last):
                change = compared(other, look)
                if change is not None:
                    level, take = its + change, of
                    break
            self._last = [*self._last, (look, level, take)][-BACK:]
        self._levels.append(level)
        self._takes.append(take)

    @property
    def course(self) -> Course:
        """The course of the frames so far."""
        return Course(np.array(self._levels).reshape(-1, 4), np.array(self._takes, np.int64))


def compared(one: Look, other: Look) -> Array | None:
    """By how many stops luma, red, green and blue of a frame are brighter than those of another, (4,).

    None if they show different things, or nothing that can be compared.
    """
    best: tuple[float, Array] | None = None
    for shift in dict.fromkeys([(0, 0), _shift(one, other)]):
        ratios = _ratios(one, other, shift)
        if len(ratios) >= LEAST_PLACES:
            spread = _spread(ratios[:, 0] - np.median(ratios[:, 0]))
            if best is None or spread < best[0]:
                best = spread, ratios
    if best is None or best[0] > UNLIKE:
        return None
    return np.array([_centre(column) for column in best[1].T])


def gains(course: Course, over: float, strength: float, colour: bool) -> Array:
    """The gains of exposure, red and blue for each frame, (frames, 3) in stops.

    Args:
        over: changes that take longer than this many frames stay.
        strength: 0..1, the share of the flicker that is taken away.
        colour: steady the balance of red and blue against green as well.
    """
    columns = course.levels[:, 1:] if colour else course.levels[:, :1]
    wanted = np.zeros_like(columns)
    for take in np.unique(course.takes):
        of = np.flatnonzero(course.takes == take)
        wanted[of] = smooth(columns[of], over) - columns[of]
    found = np.zeros((len(columns), 3))
    if colour:
        found[:, 0] = np.clip(strength * wanted[:, 1], -MOST, MOST)
        for place, channel in ((1, 0), (2, 2)):
            found[:, place] = np.clip(strength * (wanted[:, channel] - wanted[:, 1]), -MOST_COLOUR, MOST_COLOUR)
    else:
        found[:, 0] = np.clip(strength * wanted[:, 0], -MOST, MOST)
    return found


def smooth(values: Array, over: float) -> Array:
    """The smooth course of values, (frames, columns); where they step, it steps.

    Half of a change that comes and goes in `over` frames stays, more of slower ones and less of faster ones.

    Example:
        >>> smooth(np.arange(1.0, 7.0)[:, None], 5).ravel().round(6).tolist()
        [1.0, 2.0, 3.0, 4.0, 5.0, 6.0]
    """
    result = np.empty_like(values)
    edges = [0, *_steps(values), len(values)]
    for first, end in pairwise(edges):
        for column in range(values.shape[1]):
            result[first:end, column] = _whittaker(values[first:end, column], over)
    return result


def _steps(values: Array) -> list[int]:
    """The first frame after each lasting change at once."""
    if len(values) < 6:
        return []
    run = np.arange(len(values))
    level = 100 * math.log(2) * (values - run[:, None] * theil_sen(run, values))  # per cent
    limits = np.maximum(1.0, 3 * SIGMA * np.median(np.abs(departures(level)), axis=0))
    found = []
    for place in steps(level, limits):
        near = [at for at in (place - 1, place, place + 1) if 0 < at < len(level)]
        found.append(max(near, key=lambda at: float(np.abs(level[at] - level[at - 1]).max())))
    return sorted(set(found))


def _whittaker(values: Array, over: float) -> Array:
    """Weighted smoothing by second differences; single frames far from the course count less (Huber's weights)."""
    from scipy.linalg import solveh_banded

    count = len(values)
    if count < 3:
        return np.asarray(values.copy() if count < 2 else np.full(count, values.mean()))
    weight = (2 * math.sin(math.pi / max(over, 2))) ** -4
    penalty = np.zeros((3, count))
    for place in range(count - 2):
        for a, p in enumerate((1.0, -2.0, 1.0)):
            for b, q in enumerate((1.0, -2.0, 1.0)):
                if b >= a:
                    penalty[b - a, place + a] += weight * p * q
    weights, result = np.ones(count), values
    for _ in range(5):
        system = penalty.copy()
        system[0] += weights
        result = solveh_banded(system, weights * values, lower=True)
        off = np.abs(values - result)
        weights = np.minimum(1.0, 2 * max(SIGMA * float(np.median(off)), 1e-9) / np.maximum(off, 1e-12))
    return np.asarray(result)


def _shift(one: Look, other: Look) -> tuple[int, int]:
    """How far the picture moved from one frame to the other, (down, right) in whole pixels, by phase correlation."""
    import cv2

    a, b = (np.log2(np.maximum(look.light.mean(axis=-1), 1e-4)).astype(np.float32) for look in (one, other))
    if a.shape != b.shape or min(a.shape) < 2 * PLACE:
        return 0, 0
    window = cv2.createHanningWindow((a.shape[1], a.shape[0]), cv2.CV_32F)
    (right, down), _ = cv2.phaseCorrelate(a - a.mean(), b - b.mean(), window)
    found = round(down), round(right)
    far = any(abs(moved) > size * FARTHEST for moved, size in zip(found, a.shape, strict=True))
    return (0, 0) if far else found


def _ratios(one: Look, other: Look, shift: tuple[int, int]) -> Array:
    """The change of luma, red, green and blue at each place that tells, (places, 4) in stops."""
    if one.light.shape != other.light.shape:
        return np.zeros((0, 4))
    first, second = _overlap(one, *(-n for n in shift)), _overlap(other, *shift)
    usable = _places((first.usable & second.usable)[..., None].astype(np.float32))[:, 0] > 1 - 1e-6
    a, b = _places(first.light), _places(second.light)
    bright = np.minimum(a, b)
    telling = usable & (bright > 1e-5).all(axis=-1)
    if not telling.any():
        return np.zeros((0, 4))
    level = bright.mean(axis=-1)
    telling &= level >= np.quantile(level[telling], DARKEST)
    a, b = a[telling], b[telling]
    luma = np.log2(b.mean(axis=-1) / a.mean(axis=-1))
    return np.column_stack([luma, np.log2(b / a)])


def _overlap(look: Look, down: int, right: int) -> Look:
    """The part of a frame that a frame moved by so much also shows."""
    height, width = look.usable.shape
    rows = slice(max(down, 0), height + min(down, 0))
    columns = slice(max(right, 0), width + min(right, 0))
    return Look(look.light[rows, columns], look.usable[rows, columns])


def _places(values: npt.NDArray[np.float32]) -> Array:
    """The means over places, (places, channels)."""
    rows, columns = values.shape[0] // PLACE, values.shape[1] // PLACE
    cut = values[: rows * PLACE, : columns * PLACE].astype(np.float64)
    means = cut.reshape(rows, PLACE, columns, PLACE, -1).mean(axis=(1, 3))
    return np.asarray(means.reshape(rows * columns, -1))


def _spread(off: Array) -> float:
    return max(LEAST_SPREAD, SIGMA * float(np.median(np.abs(off))))


def _centre(values: Array) -> float:
    """The mean of the values that are alike: near the median, in terms of their own spread."""
    centre = float(np.median(values))
    for _ in range(2):
        off = values - centre
        centre = float(values[np.abs(off) <= ALIKE * _spread(off)].mean())
    return centre
