"""The run of a sequence under one correction: its levels frame by frame, from samples; pure, in any thread."""

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from poise.correction import Correction, Encoding
from poise.errors import PoiseError
from poise.frames import Depth
from poise.scopes import Course, Drift, drift
from poise.scopes.course import levels
from poise.scopes.words import told
from poise_tui.measure.book import Book
from poise_tui.measure.sample import Sample

if TYPE_CHECKING:
    from poise.engine import Engine

Levels = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Run:
    """What the frames of a sequence do, as far as they were read; two are equal only if they are the same.

    Attributes:
        numbers: the first and the last of the shot's frames, read or not.
        course: of the frames that are read, or will be.
        drift: None while fewer than two frames are known.
        broken: numbers of frames that can't be read.
        whole: whether nothing is left to be read.
        words: what to say about it.
        levels: what was measured, to go on from.
    """

    numbers: tuple[int, int]
    course: Course
    drift: Drift | None
    broken: tuple[int, ...]
    whole: bool
    words: tuple[str, ...]
    levels: dict[Sample, Levels] = field(repr=False)

    @property
    def standing_out(self) -> tuple[int, ...]:
        """Numbers of frames that jump, and of those at which a step begins, in order."""
        if self.drift is None:
            return ()
        return tuple(sorted({one.number for one in (*self.drift.jumps, *self.drift.steps)}))


def run(book: Book, correction: Correction, encoding: Encoding, before: Run | None = None) -> Run:
    """Measure the samples of a sequence.

    Args:
        before: of the same sequence, correction and encoding, with fewer frames.

    Raises:
        PoiseError: the correction can't be applied to any of them.
    """
    unknown = np.full((4, 3), np.nan)
    measured = before.levels if before else {}
    known = {one: measured[one] for one in book.samples.values() if one in measured}
    engines: dict[Depth, Engine] = {}
    fault: PoiseError | None = None
    for one in book.samples.values():
        if one not in known and one.pixels is not None:
            try:
                if one.depth not in engines:
                    engines[one.depth] = _engine(one.depth, correction, encoding)
                known[one] = _measured(one, engines[one.depth], encoding)
            except PoiseError as raised:  # a frame of another kind among the others
                fault, known[one] = raised, unknown
    if fault is not None and all(levels is unknown for levels in known.values()):
        raise fault
    numbers = np.array([book.shot.numbers[place] for place in book.places], np.int64)
    read = [known.get(book.samples[place], unknown) if place in book.samples else unknown for place in book.places]
    course = Course(numbers, np.array(read))
    found = drift(course)
    broken = tuple(book.shot.numbers[place] for place in sorted(book.samples) if book.samples[place].pixels is None)
    ends = (book.shot.numbers[0], book.shot.numbers[-1])
    words = (*_standing(book, broken), *(told(found, book.whole) if found else ()))
    return Run(ends, course, found, broken, book.whole, words, known)


def _engine(depth: Depth, correction: Correction, encoding: Encoding) -> "Engine":
    from poise.engine import COARSE, compile_engine  # not before the first paint

    return compile_engine(correction, encoding, depth, output="work", entries=COARSE)


def _measured(one: Sample, engine: "Engine", encoding: Encoding) -> Levels:
    assert one.pixels is not None
    made = engine.apply(one.pixels)
    return levels(made, None if made.dtype.kind == "f" else one.depth.maximum, encoding.work_primaries)


def _standing(book: Book, broken: tuple[int, ...]) -> tuple[str, ...]:
    """How many frames this is about, where that is not all of them."""
    said = []
    if not book.whole:
        said.append(f"{len(book.samples)} of {len(book.places)} frames read")
    if len(book.places) < len(book.shot.files):
        said.append(f"{len(book.places)} of {len(book.shot.files)} frames; flicker between them is not measured")
    if broken:
        few = ", ".join(map(str, broken[:3])) + (f" and {len(broken) - 3} more" if len(broken) > 3 else "")
        said.append(f"can't be read: {few}")
    return tuple(said)
