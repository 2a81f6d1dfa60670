"""The run of a sequence under one correction: its levels frame by frame, from samples; pure, in any thread."""

from dataclasses import dataclass, field
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from poise.correction import Correction, Encoding
from poise.errors import PoiseError
from poise.frames import Depth
from poise.scopes import Course, Drift, drift
from poise.scopes.course import levels
from poise.scopes.words import describe
from poise.sidecar.decision import Decision
from poise_tui.measure.book import Book
from poise_tui.measure.sample import Sample

if TYPE_CHECKING:
    from poise.engine import Engine

Levels = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Run:
    """The levels of a sequence over its frames, as far as they were read; compared by identity.

    Attributes:
        numbers: of the shot's first and last frame, read or not.
        course: the levels of the frames that are read, or will be.
        drift: None while fewer than two frames are known.
        broken: numbers of frames that can't be read.
        whole: whether nothing is left to be read.
        words: the summary, line by line.
        levels: the levels measured, with and without steady values, for the next run to reuse.
        without: the levels without steady values; None if they are the same.
    """

    numbers: tuple[int, int]
    course: Course
    drift: Drift | None
    broken: tuple[int, ...]
    whole: bool
    words: tuple[str, ...]
    levels: dict[Sample, Levels] = field(repr=False)
    without: Course | None = None

    @property
    def abrupt(self) -> tuple[int, ...]:
        """Numbers of the frames that jump or begin a step, in order."""
        if self.drift is None:
            return ()
        return tuple(sorted({one.number for one in (*self.drift.jumps, *self.drift.steps)}))


def run(book: Book, decision: Decision, encoding: Encoding, before: Run | None = None) -> Run:
    """Measures the samples of a sequence.

    Args:
        decision: about the sequence; each frame is measured under its own correction.
        before: an earlier run of the same sequence, correction and encoding, whose levels are reused.

    Raises:
        PoiseError: the correction can't be applied to any of them.
    """
    unknown = np.full((2, 4, 3), np.nan)
    measured = before.levels if before else {}
    known = {one: measured[one] for one in book.samples.values() if one in measured}
    engine = lru_cache(maxsize=4)(_engine)
    fault: PoiseError | None = None
    for place, one in book.samples.items():
        if one not in known and one.pixels is not None:
            number = book.shot.number(place)
            delivered, decided = decision.at(number), decision.decided(number)
            try:
                there = plain = _measured(one, engine(one.depth, delivered, encoding), encoding)
                if decided != delivered:
                    plain = _measured(one, engine(one.depth, decided, encoding), encoding)
                known[one] = np.stack([there, plain])
            except PoiseError as raised:  # one frame of another kind must not stop the others
                fault, known[one] = raised, unknown
    if fault is not None and all(levels is unknown for levels in known.values()):
        raise fault
    numbers = np.array([book.shot.numbers[place] for place in book.places], np.int64)
    read = [known.get(book.samples[place], unknown) if place in book.samples else unknown for place in book.places]
    both = np.array(read).reshape(-1, 2, 4, 3)
    course, unsteady = Course(numbers, both[:, 0]), Course(numbers, both[:, 1])
    found = drift(course)
    broken = tuple(book.shot.numbers[place] for place in sorted(book.samples) if book.samples[place].pixels is None)
    ends = (book.shot.numbers[0], book.shot.numbers[-1])
    words = (*_limits(book, broken), *(describe(found, book.whole) if found else ()))
    without = None if np.array_equal(both[:, 0], both[:, 1], equal_nan=True) else unsteady
    return Run(ends, course, found, broken, book.whole, words, known, without)


def _engine(depth: Depth, correction: Correction, encoding: Encoding) -> "Engine":
    from poise.engine import COARSE, compile_engine  # not before the first paint

    return compile_engine(correction, encoding, depth, output="work", entries=COARSE)


def _measured(one: Sample, engine: "Engine", encoding: Encoding) -> Levels:
    assert one.pixels is not None
    made = engine.apply(one.pixels)
    return levels(made, None if made.dtype.kind == "f" else one.depth.maximum, encoding.work_primaries)


def _limits(book: Book, broken: tuple[int, ...]) -> tuple[str, ...]:
    """How many frames the run covers, if not all of them."""
    lines = []
    if not book.whole:
        lines.append(f"{len(book.samples)} of {len(book.places)} frames read")
    if len(book.places) < len(book.shot.files):
        lines.append(f"{len(book.places)} of {len(book.shot.files)} frames; flicker between them is not measured")
    if broken:
        few = ", ".join(map(str, broken[:3])) + (f" and {len(broken) - 3} more" if len(broken) > 3 else "")
        lines.append(f"can't be read: {few}")
    return tuple(lines)
