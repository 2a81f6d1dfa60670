"""Removes the flicker of one sequence for `poise steady`: compares its frames in processes and limits the gains."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from poise.batch.pool import in_order
from poise.commands.shared.output import problem
from poise.commands.shared.progress import with_progress
from poise.commands.shared.shots import Found
from poise.correction import Correction, Encoding, default_encoding
from poise.correction.steady import Steady, steadied
from poise.frames.shots import Problem

if TYPE_CHECKING:
    from poise.frames import Depth
    from poise.frames.frame import Pixels
    from poise.scopes import Drift
    from poise.solve.steady import Course, Look

SAMPLE = 160
"""The largest width and height, in pixels, of the sample that levels and clipping are measured on."""
MOST_LOST = 0.02
"""The share of pixels that a gain may crush or clip; larger gains are halved until they don't."""
HALVINGS = 4
DECIMALS = 6


@dataclass(frozen=True)
class Wish:
    """How to remove flicker.

    Attributes:
        over: in frames; slower changes are kept.
        strength: 0..1, the share of the flicker that is removed.
        colour: whether flicker of red and blue relative to green is removed as well.
    """

    over: float
    strength: float
    colour: bool


@dataclass(frozen=True)
class Steadied:
    """The gains of one sequence, and what they achieve.

    Attributes:
        steady: the gains; None if all are 0.
        before, after: drift and flicker of the corrected frames, without and with the gains; None for fewer than two.
        not_helped: the numbers of frames that got no gain, or a limited one, each with the reason.
        problems: the frames that can't be read.
    """

    steady: Steady | None
    before: "Drift | None"
    after: "Drift | None"
    not_helped: tuple[tuple[int, str], ...]
    problems: tuple[Problem, ...]


@dataclass(frozen=True)
class Frame:
    """A frame to read and compare, under its correction; an encoding of None is the default of the file."""

    file: Path
    correction: Correction
    encoding: Encoding | None


@dataclass(frozen=True)
class Seen:
    """A frame that was read, reduced to SAMPLE."""

    sample: "Pixels"
    depth: "Depth"
    encoding: Encoding


def steadied_run(one: Found, encoding: Encoding | None, wish: Wish, workers: int, limit: float) -> Steadied:
    """Computes the gains that remove the flicker of one sequence; writes nothing.

    Args:
        encoding: None for the default of its files.
        workers: the largest number of processes.
        limit: the time limit for a frame, in seconds.

    Raises:
        PoiseError: the engine can't apply the correction to a frame.
    """
    from poise.solve.steady import Tracker

    numbers, corrections = one.shot.numbers, [one.decided(place) for place in range(len(one.shot.files))]
    frames = [Frame(file, by, encoding) for file, by in zip(one.shot.files, corrections, strict=True)]
    tracker, problems = Tracker(), list[Problem]()
    seen: list[Seen | None] = []
    for frame, result in with_progress(in_order(look_at, frames, workers, limit), len(frames), "frames", "steady"):
        if isinstance(result, tuple) and not isinstance(result, Problem):
            tracker.add(result[0])
            seen.append(result[1])
        else:
            problems.append(result if isinstance(result, Problem) else Problem(frame.file, result.reason))
            tracker.add(None)
            seen.append(None)
    unread = {numbers[one.shot.files.index(problem.path)] for problem in problems}
    return held_steady(numbers, corrections, tracker.course, seen, wish, unread, tuple(problems))


def held_steady(
    numbers: Sequence[int],
    corrections: Sequence[Correction],
    course: "Course",
    seen: "Sequence[Seen | None]",
    wish: Wish,
    unread: Collection[int] = (),
    problems: tuple[Problem, ...] = (),
) -> Steadied:
    """Computes the gains of a sequence whose frames have been compared.

    Args:
        numbers: the frame numbers, rising.
        corrections: of each frame, without steady values.
        course: the levels of the frames.
        seen: a sample of each frame; None for one that can't be read.
        wish: how to remove flicker.
        unread: the numbers of the frames that can't be read.
        problems: passed on to the result.

    Raises:
        PoiseError: the engine can't apply a correction to its frame.
    """
    from poise.solve.steady import MOST, gains

    not_helped = {numbers[place]: "it can't be compared with its neighbours" for place in course.alone.tolist()}
    values = gains(course, wish.over, wish.strength, wish.colour)
    for place in np.flatnonzero(np.abs(values[:, 0]) >= MOST).tolist():
        not_helped[numbers[place]] = f"its gain is limited to {values[place, 0]:+.1f} stops"
    before, after = [], []
    for place, frame in enumerate(seen):
        plain, with_gain, share = _limited(frame, corrections[place], values[place])
        before.append(plain)
        after.append(with_gain)
        if share < 1:
            values[place] *= share
            not_helped[numbers[place]] = (
                f"only {share:.0%} of its gain, as more would crush or clip over {MOST_LOST:.0%}"
            )
    not_helped |= dict.fromkeys(unread, "it can't be read")
    steady = None if not values.any() else _stored(numbers, values, wish.colour)
    drifts = _drift(numbers, before), _drift(numbers, after)
    return Steadied(steady, *drifts, tuple(sorted(not_helped.items())), problems)


def look_at(frame: Frame) -> "tuple[Look, Seen] | Problem":
    """Reads and reduces a frame; returns a `Problem` instead of raising, since it may run in another process."""
    from poise.frames import proxy, read
    from poise.solve.steady_look import look

    try:
        picture = read(frame.file)
        encoding = frame.encoding or default_encoding(picture.linear)
        seen = look(picture.colour, frame.correction.light, encoding, picture.depth)
        return seen, Seen(proxy(picture.colour, SAMPLE, SAMPLE), picture.depth, encoding)
    except Exception as fault:
        return problem(frame.file, fault)


def _limited(
    seen: Seen | None, correction: Correction, values: npt.NDArray[np.float64]
) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64], float]:
    """The levels of a frame without and with its gains, and the share of the gains that doesn't clip too much."""
    from poise.scopes.course import levels

    if seen is None:
        unknown = np.full((4, 3), np.nan)
        return unknown, unknown, 1.0
    maximum = None if seen.depth.is_float else seen.depth.maximum

    def measured(share: float) -> tuple[npt.NDArray[np.float64], float]:
        work = _work(seen, _with(correction, share * values))
        top = 1 if work.dtype.kind == "f" else seen.depth.maximum
        lost = float(((work <= 0) | (work >= top)).any(axis=-1).mean())
        return levels(work, None if work.dtype.kind == "f" else maximum, seen.encoding.work_primaries), lost

    plain, lost = measured(0)
    for halving in range(HALVINGS if values.any() else 0):
        with_gain, more = measured(0.5**halving)
        if more <= lost + MOST_LOST:
            return plain, with_gain, 0.5**halving
    return plain, plain, 0.0 if values.any() else 1.0


def _work(seen: Seen, correction: Correction) -> "Pixels":
    from poise.engine import COARSE, compile_engine

    return compile_engine(correction, seen.encoding, seen.depth, output="work", entries=COARSE).apply(seen.sample)


def _with(correction: Correction, values: npt.NDArray[np.float64]) -> Correction:
    return steadied(correction, _stored((0,), values[None], True), 0)


def _stored(numbers: Sequence[int], values: npt.NDArray[np.float64], colour: bool) -> Steady:
    """Gains as steady values, with None for missing frames."""
    size = numbers[-1] - numbers[0] + 1
    columns: list[list[float | None]] = [[None] * size for _ in range(3)]
    for number, gains in zip(numbers, values.round(DECIMALS).tolist(), strict=True):
        for column, gain in zip(columns, gains, strict=True):
            column[number - numbers[0]] = gain
    exposure, red, blue = map(tuple, columns)
    return Steady(numbers[0], exposure, *((red, blue) if colour else ()))


def _drift(numbers: Sequence[int], levels: Sequence[Any]) -> "Drift | None":
    from poise.scopes import Course as Levels
    from poise.scopes import drift

    return drift(Levels(np.array(numbers), np.array(levels)))
