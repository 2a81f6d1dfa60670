"""Flicker removal: gains in linear light that bring the level of each frame of a sequence to a smooth curve.

Neighbouring frames are aligned by one shift and compared block by block in linear light. Blocks whose ratio differs
from that of most, since something moves there, are left out. The curve is the Whittaker smoother (1923) with second
differences, as in Eilers, Analytical Chemistry 75 (2003), applied between cuts and steps.
"""

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from poise.scopes.drift import departures, steps, theil_sen

Array = npt.NDArray[np.float64]

BLOCK = 6
"""The width and height of a block, in pixels of a `Look`."""
DARKEST = 0.3
"""The share of blocks, the darkest ones, that is left out, since noise and flare are relatively large there."""
LEAST_BLOCKS = 12
"""The smallest number of blocks that two frames are compared by."""
FARTHEST = 0.25
"""The largest shift from frame to frame, as a share of the size of the picture."""
INLIER, UNRELATED = 2.5, 0.12
"""A block is left out if it differs from the centre by more than INLIER standard deviations. Two frames are unrelated
if the standard deviation of their blocks is above UNRELATED, in stops."""
LEAST_SPREAD = 0.002
"""The least standard deviation that is assumed, in stops, so that pictures without noise keep their blocks."""
BACK = 3
"""The number of preceding frames that a frame is compared with, the nearest first, until one is related."""
MOST, MOST_COLOUR = 1.0, 0.25
"""The largest gain of exposure, and of red and blue, in stops."""
SIGMA = 1.4826
"""The ratio of standard deviation and median absolute deviation of a normal distribution."""


class Look(NamedTuple):
    """A frame reduced for comparison.

    Attributes:
        light: (height, width, 3) linear light without flare, averaged over pixels.
        usable: (height, width) False where a channel is clipped or not finite.
    """

    light: npt.NDArray[np.float32]
    usable: npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Course:
    """The levels of the frames of a sequence, and the takes that they belong to.

    Attributes:
        levels: (frames, 4) mean, red, green and blue in stops, relative to the first frame of the take.
        takes: (frames,) the number of the take; frames that can be compared belong to one take.
    """

    levels: Array
    takes: npt.NDArray[np.int64]

    @property
    def alone(self) -> npt.NDArray[np.intp]:
        """The indexes of frames that can't be compared with any other, (n,)."""
        count = np.bincount(self.takes) if len(self.takes) else np.zeros(0, int)
        return np.flatnonzero(count[self.takes] == 1)


class Tracker:
    """Builds the course of a sequence from its frames, added one by one.

    Example:
        >>> tracker = Tracker()
        >>> tracker.add(None)
        >>> tracker.course.levels.shape
        (1, 4)
    """

    def __init__(self) -> None:
        self._last: list[tuple[Look, Array, int]] = []
        self._levels: list[Array] = []
        self._takes: list[int] = []

    def add(self, look: Look | None) -> None:
        """Adds the next frame; None for one that can't be read."""
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
        """The course of the frames added so far."""
        return Course(np.array(self._levels).reshape(-1, 4), np.array(self._takes, np.int64))


def compared(one: Look, other: Look) -> Array | None:
    """The change of mean, red, green and blue from one frame to another.

    Returns:
        (4,) in stops, positive if `other` is brighter; None if the frames are unrelated or have too few usable blocks.

    Example:
        >>> light = np.random.default_rng(1).uniform(0.2, 0.4, (60, 90, 3)).astype(np.float32)
        >>> one, other = (Look(gain * light, np.ones((60, 90), bool)) for gain in (1, 2))
        >>> compared(one, other).round(3).tolist()
        [1.0, 1.0, 1.0, 1.0]
    """
    best: tuple[float, Array] | None = None
    for shift in dict.fromkeys([(0, 0), _shift(one, other)]):
        ratios = _ratios(one, other, shift)
        if len(ratios) >= LEAST_BLOCKS:
            spread = _spread(ratios[:, 0] - np.median(ratios[:, 0]))
            if best is None or spread < best[0]:
                best = spread, ratios
    if best is None or best[0] > UNRELATED:
        return None
    return np.array([_centre(column) for column in best[1].T])


def gains(course: Course, over: float, strength: float, colour: bool) -> Array:
    """The gains of exposure, red and blue that remove flicker from each frame.

    Args:
        over: in frames; slower changes are kept, as in `smooth`.
        strength: 0..1, the share of the flicker that is removed.
        colour: whether to remove flicker of red and blue relative to green as well.

    Returns:
        (frames, 3) in stops, at most MOST for exposure and MOST_COLOUR for red and blue, either way.

    Example:
        >>> level = np.tile([[0.0], [0.1]], (10, 4))
        >>> found = gains(Course(level, np.zeros(20, np.int64)), over=25, strength=1, colour=False)
        >>> found[8:10, 0].round(2).tolist()
        [0.05, -0.05]
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
    """Smooths values over the frames of a sequence; steps are kept.

    Args:
        values: (frames, columns), finite.
        over: in frames: the period at which half of the amplitude is kept; more is kept of slower changes.

    Returns:
        (frames, columns), in the units of the values.

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
    """The first frame after each step: a change from one frame to the next that lasts."""
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
    """The Whittaker smoother with second differences; frames far from the curve have less weight (Huber's weights)."""
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
    """The shift of the picture from one frame to the other, (down, right) in whole pixels, by phase correlation."""
    import cv2

    a, b = (np.log2(np.maximum(look.light.mean(axis=-1), 1e-4)).astype(np.float32) for look in (one, other))
    if a.shape != b.shape or min(a.shape) < 2 * BLOCK:
        return 0, 0
    window = cv2.createHanningWindow((a.shape[1], a.shape[0]), cv2.CV_32F)
    (right, down), _ = cv2.phaseCorrelate(a - a.mean(), b - b.mean(), window)
    found = round(down), round(right)
    far = any(abs(moved) > size * FARTHEST for moved, size in zip(found, a.shape, strict=True))
    return (0, 0) if far else found


def _ratios(one: Look, other: Look, shift: tuple[int, int]) -> Array:
    """The change of mean, red, green and blue in each valid block, (blocks, 4) in stops."""
    if one.light.shape != other.light.shape:
        return np.zeros((0, 4))
    first, second = _overlap(one, *(-n for n in shift)), _overlap(other, *shift)
    usable = _block_means((first.usable & second.usable)[..., None].astype(np.float32))[:, 0] > 1 - 1e-6
    a, b = _block_means(first.light), _block_means(second.light)
    bright = np.minimum(a, b)
    valid = usable & (bright > 1e-5).all(axis=-1)
    if not valid.any():
        return np.zeros((0, 4))
    level = bright.mean(axis=-1)
    valid &= level >= np.quantile(level[valid], DARKEST)
    a, b = a[valid], b[valid]
    mean = np.log2(b.mean(axis=-1) / a.mean(axis=-1))
    return np.column_stack([mean, np.log2(b / a)])


def _overlap(look: Look, down: int, right: int) -> Look:
    """The part of a frame that is also in a frame shifted by this much."""
    height, width = look.usable.shape
    rows = slice(max(down, 0), height + min(down, 0))
    columns = slice(max(right, 0), width + min(right, 0))
    return Look(look.light[rows, columns], look.usable[rows, columns])


def _block_means(values: npt.NDArray[np.float32]) -> Array:
    """The means over blocks, (blocks, channels)."""
    rows, columns = values.shape[0] // BLOCK, values.shape[1] // BLOCK
    cut = values[: rows * BLOCK, : columns * BLOCK].astype(np.float64)
    means = cut.reshape(rows, BLOCK, columns, BLOCK, -1).mean(axis=(1, 3))
    return np.asarray(means.reshape(rows * columns, -1))


def _spread(off: Array) -> float:
    """The standard deviation about 0, from the median absolute deviation."""
    return max(LEAST_SPREAD, SIGMA * float(np.median(np.abs(off))))


def _centre(values: Array) -> float:
    """The mean of the values without outliers, starting from the median."""
    centre = float(np.median(values))
    for _ in range(2):
        off = values - centre
        centre = float(values[np.abs(off) <= INLIER * _spread(off)].mean())
    return centre
