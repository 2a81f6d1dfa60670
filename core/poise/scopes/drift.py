"""Drift and flicker: what the readings of a sequence do over its frames, in numbers.

No standard says how a picture's drift or flicker is measured. The line is that of Theil (1950) and Sen (1968), which a
frame that stands out does not move; windows and limits are common practice, no source.
"""

import math
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt

from poise.scopes.course import ENDS, SERIES, Course, Levels

MIDDLES = slice(1, None, len(ENDS))
"""The middles among the levels of a frame, in one row."""

REACH = 4
"""A frame is held against so many neighbours on either side, fewer near an end; itself not, and an even number, or a
light that alternates from frame to frame would not show, or show double."""
LASTS = 3
"""Frames that a change lasts at least to be a step and no flicker."""
LEAST, TIMES = 1.0, 4.0
"""A frame jumps by at least so many per cent of full signal, and by so many standard deviations of the others (1.4826
times the median of what they depart by)."""
MOSTLY = 0.8
"""A change is one of luma where luma has so much of the largest one."""
MOST = 1024
"""Frames that the line goes by at most, evenly chosen: it looks at every two of them."""


@dataclass(frozen=True)
class Change:
    """A frame that stands out from its neighbours, or the first one after a lasting step.

    Attributes:
        amount: in per cent of full signal.
        series: which that is: luma if it changes nearly as much as red, green and blue.
    """

    number: int
    amount: float
    series: str = "luma"


@dataclass(frozen=True)
class Drift:
    """What the frames do.

    Attributes:
        frames: how many are known.
        numbers: the first and the last of them.
        drift: (4, 3) change over the whole run, without steps, of each level of a `Course`; per cent of full signal.
        steps: changes of the middle that last, in order.
        wander: how far luma's middle swings about that line, from lowest to highest, without flicker; per cent.
        rms, peak: of what luma's middle departs from its neighbours by, without drift and steps; NaN for two frames.
        jumps: the frames that jump, in order.
        departures: (frames of the course,) of luma's middle, NaN where it is not known.
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
    """What the known frames of a course do; None for fewer than two.

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
    limits = _limits(departing(level[:, MIDDLES]))
    steps = _steps(level[:, MIDDLES], limits)
    sizes = [_step_at(level, place) for place in steps]
    for place, size in zip(steps, sizes, strict=True):
        smooth[place:] -= size
    slopes = theil_sen(run, smooth)
    along = (smooth - run[:, None] * slopes)[:, MIDDLES]
    departed = departing(along)
    departures = np.full(len(known), math.nan)
    departures[known] = departed[:, 0] if count > 2 else math.nan
    worst = int(np.argmax(np.abs(departed[:, 0])))
    jumping = np.flatnonzero((np.abs(departed) > limits).any(axis=1)) if count > 2 else ()
    return Drift(
        count,
        (int(numbers[0]), int(numbers[-1])),
        (slopes * run[-1]).reshape(values.shape[1:]),
        tuple(_change(int(numbers[place]), size[MIDDLES]) for place, size in zip(steps, sizes, strict=True)),
        float(np.ptp((along - departed)[:, 0])) if count > 2 else 0.0,
        float(np.sqrt(np.mean(departed[:, 0] ** 2))) if count > 2 else math.nan,
        Change(int(numbers[worst]), float(departed[worst, 0])),
        tuple(_change(int(numbers[place]), departed[place]) for place in jumping),
        departures,
    )


def theil_sen(at: npt.NDArray[Any], values: Levels) -> Levels:
    """The median slope between every two places, for each column of values.

    Args:
        at: (count,) increasing; two at least.
        values: (count, columns).

    Example:
        >>> theil_sen(np.arange(4), np.array([[0.0], [1.0], [9.0], [3.0]])).round(3).tolist()
        [1.0]
    """
    if len(at) > MOST:
        chosen = np.linspace(0, len(at) - 1, MOST).round().astype(np.intp)
        at, values = at[chosen], values[chosen]
    one, other = np.triu_indices(len(at), 1)
    apart = (at[other] - at[one]).astype(np.float64)
    return np.array([np.median((column[other] - column[one]) / apart) for column in values.T])


def departing(values: Levels) -> Levels:
    """What each frame departs by from the median of its neighbours, for each column of values.

    Near an end, where most neighbours lie on one side, they are carried along by the usual change from frame to frame.

    Example:
        >>> departing(np.array([[0.0], [0.0], [5.0], [0.0], [0.0]])).ravel().tolist()
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
    """By how much a frame departs at least to jump, for each column."""
    return np.asarray(np.maximum(LEAST, TIMES * 1.4826 * np.median(np.abs(departed), axis=0)))


def _steps(values: Levels, limits: Levels) -> list[int]:
    """Where a change begins that lasts: most of it from one frame to the next, and kept for most of what follows."""
    places: list[int] = []
    for place in range(LASTS, len(values) - LASTS + 1):
        if places and place - places[-1] < LASTS:
            continue  # the same change, over two frames
        by, at_once = _step_at(values, place), values[place] - values[place - 1]
        if ((np.abs(by) > limits) & (at_once * np.sign(by) >= np.abs(by) / 2)).any():
            places.append(place)
    return places


def _step_at(values: Levels, place: int) -> Levels:
    """The difference between the medians of the frames before and behind a place, for each column."""
    wide = 2 * LASTS - 1
    before, behind = values[max(place - wide, 0) : place], values[place : place + wide]
    return np.asarray(np.median(behind, axis=0) - np.median(before, axis=0))


def _change(number: int, amounts: Levels) -> Change:
    """The largest of four amounts; luma's where that of a colour is hardly larger."""
    most = int(np.argmax(np.abs(amounts) / (MOSTLY, 1, 1, 1)))
    return Change(number, float(amounts[most]), SERIES[most])


def _plain(change: Change) -> dict[str, Any]:
    return {"frame": change.number, "amount": _rounded(change.amount), "series": change.series}


def _rounded(value: float) -> float | None:
    return round(value, 4) if math.isfinite(value) else None
