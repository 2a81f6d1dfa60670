"""Drift and flicker of a sequence: how its levels change over its frames.

No standard defines how drift or flicker is measured. Drift is the line of Theil (1950) and Sen (1968), which single
deviating frames don't move; windows and limits are common practice, no source.
"""

import math
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt

from poise.scopes.course import ENDS, SERIES, Course, Levels

MIDDLES = slice(1, None, len(ENDS))
"""The medians among the levels of a frame, flattened."""

REACH = 4
"""A frame is compared with this many neighbours on either side, fewer near an end. The frame itself is left out and the
number is even; else light that alternates from frame to frame would not show, or show doubled."""
LASTS = 3
"""The frames that a change must last to be a step and not flicker."""
LEAST, TIMES = 1.0, 4.0
"""A frame that jumps departs from its neighbours by at least LEAST per cent of full signal, and by TIMES standard
deviations of the other frames' departures (1.4826 times their median)."""
MOSTLY = 0.8
"""A change is attributed to luma if luma changes by at least this share of the largest change."""
MOST = 1024
"""The most frames used for the line, evenly chosen, as it takes every pair of them."""


@dataclass(frozen=True)
class Change:
    """A frame that jumps, or the first one after a step.

    Attributes:
        number: the frame number.
        amount: per cent of full signal.
        series: the channel: luma if it changes nearly as much as red, green and blue.
    """

    number: int
    amount: float
    series: str = "luma"


@dataclass(frozen=True)
class Drift:
    """The drift and flicker of a sequence; amounts in per cent of full signal.

    Attributes:
        frames: how many frames are known.
        numbers: the first and the last of them.
        drift: (4, 3), the change of each level of a `Course` over all frames, without steps.
        steps: lasting changes of the median, in order.
        wander: the range of the median of luma about that line, without flicker.
        rms, peak: of the departures, without drift and steps; NaN for two frames.
        jumps: the frames that jump, in order.
        departures: (frames of the course,), how far the median of luma departs from its neighbours; NaN if not known.
    """

    frames: int
    numbers: tuple[int, int]
    drift: Levels
    steps: tuple[Change, ...]
    wander: float
    rms: float
    peak: Change
    jumps: tuple[Change, ...]
    departures: Levels = field(repr=False, compare=False)

    def to_json(self) -> dict[str, Any]:
        """The `drift` object of `measure --json`: rounded to 4 decimals, null for NaN."""
        drift = {
            name: {end: _rounded(value) for end, value in zip(ENDS, ends, strict=True)}
            for name, ends in zip(SERIES, self.drift.tolist(), strict=True)
        }
        return {
            "frames": self.frames,
            "first": self.numbers[0],
            "last": self.numbers[1],
            "drift": drift,
            "wander": _rounded(self.wander),
            "steps": [_plain(change) for change in self.steps],
            "flicker": {"rms": _rounded(self.rms), "peak": _plain(self.peak)},
            "jumps": [_plain(change) for change in self.jumps],
        }


def drift(course: Course) -> Drift | None:
    """The drift and flicker of the known frames of a course; None for fewer than two.

    Example:
        >>> ramp = np.linspace(40, 46, 7)[:, None, None] * np.ones((1, 4, 3))
        >>> found = drift(Course(np.arange(1001, 1008), ramp))
        >>> found.drift[0].round(6).tolist(), round(found.rms, 6)
        ([6.0, 6.0, 6.0], 0.0)
    """
    known = course.known
    numbers, values = course.numbers[known], course.levels[known]
    count = len(numbers)
    if count < 2:
        return None
    run = numbers - numbers[0]
    smooth = values.reshape(count, -1).copy()
    level = smooth - run[:, None] * theil_sen(run, smooth)
    limits = _limits(departures(level[:, MIDDLES]))
    places = steps(level[:, MIDDLES], limits)
    sizes = [_step_at(level, place) for place in places]
    for place, size in zip(places, sizes, strict=True):
        smooth[place:] -= size
    slopes = theil_sen(run, smooth)
    along = (smooth - run[:, None] * slopes)[:, MIDDLES]
    departed = departures(along)
    luma = np.full(len(known), math.nan)
    luma[known] = departed[:, 0] if count > 2 else math.nan
    worst = int(np.argmax(np.abs(departed[:, 0])))
    jumping = np.flatnonzero((np.abs(departed) > limits).any(axis=1)) if count > 2 else ()
    return Drift(
        count,
        (int(numbers[0]), int(numbers[-1])),
        (slopes * run[-1]).reshape(values.shape[1:]),
        tuple(_change(int(numbers[place]), size[MIDDLES]) for place, size in zip(places, sizes, strict=True)),
        float(np.ptp((along - departed)[:, 0])) if count > 2 else 0.0,
        float(np.sqrt(np.mean(departed[:, 0] ** 2))) if count > 2 else math.nan,
        Change(int(numbers[worst]), float(departed[worst, 0])),
        tuple(_change(int(numbers[place]), departed[place]) for place in jumping),
        luma,
    )


def theil_sen(at: npt.NDArray[Any], values: Levels) -> Levels:
    """The median slope between all pairs of points, (columns,): the estimator of Theil (1950) and Sen (1968).

    Args:
        at: (count,), increasing, at least two.
        values: (count, columns).

    Example:
        >>> theil_sen(np.arange(4), np.array([[0.0], [1.0], [9.0], [3.0]])).round(3).tolist()
        [1.0]
    """
    if len(at) > MOST:
        chosen = np.linspace(0, len(at) - 1, MOST).round().astype(np.intp)
        at, values = at[chosen], values[chosen]
    one, other = np.triu_indices(len(at), 1)
    run = (at[other] - at[one]).astype(np.float64)
    return np.array([np.median((column[other] - column[one]) / run) for column in values.T])


def departures(values: Levels) -> Levels:
    """How far each frame departs from the median of its neighbours, (frames, columns).

    Near an end, where most neighbours are on one side, the median change from frame to frame is added to them.

    Args:
        values: (frames, columns).

    Example:
        >>> departures(np.array([[0.0], [0.0], [5.0], [0.0], [0.0]])).ravel().tolist()
        [0.0, 0.0, 5.0, 0.0, 0.0]
    """
    count, window = len(values), 2 * REACH + 1
    around = np.full((2 * REACH, *values.shape), math.nan)
    tilt = np.zeros_like(values)
    tilt[:REACH] = np.median(np.diff(values[:window], axis=0), axis=0)
    tilt[-REACH:] = np.median(np.diff(values[-window:], axis=0), axis=0)
    for by in range(1, min(REACH, count - 1) + 1):
        edge = by + by % 2 if count >= window else by
        around[2 * by - 2, edge:] = values[edge - by : count - by] + by * tilt[edge:]
        around[2 * by - 1, : count - edge] = values[by : count - edge + by] - by * tilt[: count - edge]
    return np.asarray(values - np.nanmedian(around, axis=0))


def _limits(departed: Levels) -> Levels:
    """The smallest departure of a frame that jumps, for each column."""
    return np.asarray(np.maximum(LEAST, TIMES * 1.4826 * np.median(np.abs(departed), axis=0)))


def steps(values: Levels, limits: Levels) -> list[int]:
    """The places where a lasting change begins: at least half of it happens from one frame to the next.

    Args:
        values: (frames, columns), without drift.
        limits: the smallest step, for each column.
    """
    places: list[int] = []
    for place in range(LASTS, len(values) - LASTS + 1):
        if places and place - places[-1] < LASTS:
            continue  # the same change, over two frames
        by, at_once = _step_at(values, place), values[place] - values[place - 1]
        if ((np.abs(by) > limits) & (at_once * np.sign(by) >= np.abs(by) / 2)).any():
            places.append(place)
    return places


def _step_at(values: Levels, place: int) -> Levels:
    """The difference between the medians of the frames before and after a place, for each column."""
    wide = 2 * LASTS - 1
    before, behind = values[max(place - wide, 0) : place], values[place : place + wide]
    return np.asarray(np.median(behind, axis=0) - np.median(before, axis=0))


def _change(number: int, amounts: Levels) -> Change:
    """The largest of four amounts; that of luma if the largest is hardly larger."""
    most = int(np.argmax(np.abs(amounts) / (MOSTLY, 1, 1, 1)))
    return Change(number, float(amounts[most]), SERIES[most])


def _plain(change: Change) -> dict[str, Any]:
    return {"frame": change.number, "amount": _rounded(change.amount), "series": change.series}


def _rounded(value: float) -> float | None:
    return round(value, 4) if math.isfinite(value) else None
