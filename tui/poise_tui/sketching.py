"""Sketching: the frames of the sequence in hand, read one by one in the background, a few pixels of each kept.

Coarse to fine: every 16th frame first, then those between, so that what the run does shows soon. Nothing is read while
a picture that is on screen, or next to it, is being read.
"""

import threading
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from math import ceil, sqrt
from pathlib import Path

import numpy as np

from poise.errors import PoiseError
from poise.frames import Depth, Frame, Shot, read
from poise.frames.frame import Pixels

PIXELS = 4096
"""Of each frame, at most: 512 sketches of 16 bits take 13 MB."""
MOST = 512
"""Frames that are read at most; of a longer sequence so many are, evenly chosen."""
COARSE = 16
WAIT = 0.02
"""Seconds before another look at whether a picture is still being read."""
REPORTED = 0.15
"""Seconds between two reports, while there is more to read."""


@dataclass(frozen=True, eq=False)
class Sketch:
    """A few pixels of a frame, (height, width, 1 or 3) in codes of its depth."""

    pixels: Pixels
    depth: Depth


@dataclass(frozen=True, eq=False)
class Book:
    """What is known of a sequence so far.

    Attributes:
        places: of the frames that are read, or will be, among those of the shot; in order.
        sketches: by place.
        faults: by place, why a frame can't be read.
    """

    shot: Shot
    places: tuple[int, ...]
    sketches: dict[int, Sketch]
    faults: dict[int, str]

    @property
    def whole(self) -> bool:
        """Whether nothing is left to be read."""
        return len(self.sketches) + len(self.faults) == len(self.places)


def sketch(frame: Frame) -> Sketch:
    """Every n-th pixel of every n-th row of a frame: left out, not averaged, which would hide clipping."""
    step = max(1, ceil(sqrt(frame.height * frame.width / PIXELS)))
    return Sketch(np.ascontiguousarray(frame.colour[::step, ::step]), frame.depth)


def chosen(count: int, most: int = MOST) -> tuple[int, ...]:
    """The places of frames to read: all of them, or as many as may be, the first and the last among them.

    Example:
        >>> chosen(10, 4)
        (0, 3, 6, 9)
    """
    if count <= most:
        return tuple(range(count))
    return tuple(np.linspace(0, count - 1, most).round().astype(int).tolist())


def coarse_to_fine(count: int) -> list[int]:
    """The order in which so many are read: the last soon, and no gap wider than another by more than half.

    Example:
        >>> coarse_to_fine(7)
        [0, 6, 4, 2, 1, 3, 5]
    """
    order = dict.fromkeys([0, count - 1] if count else ())
    step = COARSE
    while step:
        order |= dict.fromkeys(range(0, count, step))
        step //= 2
    return list(order)


class Sketcher:
    """Reads in a thread of its own.

    Args:
        report: called from that thread when there is something new.
        clear: whether nothing is being read that is more urgent; asked in that thread.
    """

    def __init__(self, report: Callable[[], None], clear: Callable[[], bool]) -> None:
        self._report, self._clear = report, clear
        self._work = threading.Condition()
        self._book: Book | None = None
        self._left: list[int] = []
        self._going = self._ended = False
        threading.Thread(target=self._run, daemon=True, name="poise-sketch").start()

    def want(self, shot: Shot | None) -> None:
        """Reads the frames of a shot from now on, and forgets those of another; None pauses."""
        with self._work:
            self._going = shot is not None
            if shot is not None and (self._book is None or self._book.shot.files != shot.files):
                places = chosen(len(shot.files))
                self._book = Book(shot, places, {}, {})
                self._left = [places[i] for i in coarse_to_fine(len(places))]
            self._work.notify()

    def renew(self, files: Iterable[Path]) -> None:
        """Files were replaced: they are read again, if they belong to the sequence in hand."""
        with self._work:
            book, changed = self._book, set(files)
            if book is None:
                return
            again = [place for place in book.places if book.shot.files[place] in changed]
            for place in again:
                book.sketches.pop(place, None)
                book.faults.pop(place, None)
            self._left = again + [place for place in self._left if place not in again]
            self._work.notify()

    @property
    def book(self) -> Book | None:
        """What is known now; it does not change any more."""
        with self._work:
            book = self._book
            return book and Book(book.shot, book.places, dict(book.sketches), dict(book.faults))

    def end(self) -> None:
        """Stops once the frame that is being read is there."""
        with self._work:
            self._ended = True
            self._work.notify()

    def _run(self) -> None:
        told = 0.0
        while (found := self._next()) is not None:
            book, place = found
            read_ = _read(book.shot.files[place])
            with self._work:
                if book is not self._book:
                    continue
                if isinstance(read_, Sketch):
                    book.sketches[place] = read_
                else:
                    book.faults[place] = read_
                last = not self._left
            if last or time.monotonic() - told >= REPORTED:
                told = time.monotonic()
                self._report()

    def _next(self) -> tuple[Book, int] | None:
        while True:
            with self._work:
                while not (self._ended or (self._going and self._left)):
                    self._work.wait()
                if self._ended:
                    return None
                if self._clear() and self._book is not None:
                    return self._book, self._left.pop(0)
            time.sleep(WAIT)


def _read(file: Path) -> Sketch | str:
    try:
        return sketch(read(file))
    except PoiseError as fault:
        return getattr(fault, "reason", str(fault))
