"""Steadies one sequence for `poise steady`: compares its frames in processes, and finds gains that keep their ends."""

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
"""Pixels; the largest width and height of the sample that levels and ends are read from."""
MOST_LOST = 0.02
"""The share of pixels that steadying a frame may crush or clip; its gain is halved until it does not."""
HALVINGS = 4
DECIMALS = 6


@dataclass(frozen=True)
class Wish:
    """How to steady: changes that take longer than `over` frames stay; strength 0..1; colour: red and blue as well."""

    over: float
    strength: float
    colour: bool


@dataclass(frozen=True)
class Steadied:
    """What was found for one sequence.

    Attributes:
        steady: None where nothing is to be done.
        before, after: drift and flicker of the corrected frames, without and with it.
        helpless: the frames that it could not help, or only in part, with the reason.
        problems: the frames that can't be read.
    """

    steady: Steady | None
    before: "Drift | None"
    after: "Drift | None"
    helpless: tuple[tuple[int, str], ...]
    problems: tuple[Problem, ...]


@dataclass(frozen=True)
class Frame:
    """One frame to look at."""

    file: Path
    correction: Correction
    encoding: Encoding | None


@dataclass(frozen=True)
class Seen:
    """A sample of a frame that was read."""

    sample: "Pixels"
    depth: "Depth"
    encoding: Encoding


def steadied_run(one: Found, encoding: Encoding | None, wish: Wish, workers: int, limit: float) -> Steadied:
    """Find the gains of one sequence under its correction; nothing is written.

    Args:
        encoding: None for the default of its files.
        workers: largest number of processes.
        limit: seconds that a frame may take.

    Raises:
        PoiseError: the engine can't apply its correction to its frames.
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
    """The gains of a run whose frames were compared.

    Args:
        corrections: of each frame, without steady values.
        seen: a sample of each frame; None for one that can't be read.
        unread: the numbers of those.

    Raises:
        PoiseError: the engine can't apply a correction to its frame.
    """
    from poise.solve.steady import MOST, gains

    helpless = {numbers[place]: "it can't be compared with the frames beside it" for place in course.alone.tolist()}
    values = gains(course, wish.over, wish.strength, wish.colour)
    for place in np.flatnonzero(np.abs(values[:, 0]) >= MOST).tolist():
        helpless[numbers[place]] = f"its gain is kept at {values[place, 0]:+.1f} stops"
    before, after = [], []
    for place, frame in enumerate(seen):
        plain, with_gain, share = _ends_kept(frame, corrections[place], values[place])
        before.append(plain)
        after.append(with_gain)
        if share < 1:
            values[place] *= share
            helpless[numbers[place]] = f"only {share:.0%} of its gain, as more would crush or clip over {MOST_LOST:.0%}"
    helpless |= dict.fromkeys(unread, "it can't be read")
    steady = None if not values.any() else _stored(numbers, values, wish.colour)
    drifts = _drift(numbers, before), _drift(numbers, after)
    return Steadied(steady, *drifts, tuple(sorted(helpless.items())), problems)


def look_at(frame: Frame) -> "tuple[Look, Seen] | Problem":
    """Read one frame; returns a `Problem` instead of raising, as it may run in another process."""
    from poise.frames import proxy, read
    from poise.solve.steady_look import look

    try:
        picture = read(frame.file)
        encoding = frame.encoding or default_encoding(picture.linear)
        seen = look(picture.colour, frame.correction.light, encoding, picture.depth)
        return seen, Seen(proxy(picture.colour, SAMPLE, SAMPLE), picture.depth, encoding)
    except Exception as fault:
        return problem(frame.file, fault)


def _ends_kept(
    seen: Seen | None, correction: Correction, values: npt.NDArray[np.float64]
) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64], float]:
    """The levels of a frame without and with its gains, and the share of them that keeps its ends."""
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
    """Gains as they are stored, with null for frames that are missing."""
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
