"""Sketching: the frames of a sequence, read one by one in spare time, a few thousand pixels of each kept.

Coarse to fine: every 16th frame first, then those between, so that what the run does shows soon. The loader reads them,
while nothing else is to be read.
"""

import queue
from pathlib import Path

import numpy as np

from poise.frames import Shot
from poise_tui.measure.book import Book
from poise_tui.measure.loaded import Loaded
from poise_tui.measure.sample import Sample, sample
from poise_tui.workers.loader import Loader

BYTES = 24_000
"""Of one sketch: 4,000 pixels of 16 bits in three channels; those of a whole sequence take 12 MB."""
MOST = 512
"""Frames that are read at most; of a longer sequence so many are, evenly chosen."""
COARSE = 16


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
    """The order in which so many are read: the first and the last, then ever closer between them.

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


class SequenceReader:
    """Keeps the sketches of one sequence at a time; all but reading happens on the thread that answers keys."""

    def __init__(self, loader: Loader) -> None:
        self._loader = loader
        self._book: Book | None = None
        self._places: dict[Path, int] = {}
        self._asked = False
        self._came: queue.SimpleQueue[Sample] = queue.SimpleQueue()
        """What the loader brings, until it is taken in."""

    @property
    def reading(self) -> bool:
        """Whether frames are being read."""
        return self._asked

    @property
    def book(self) -> Book | None:
        """What is known now; it does not change any more."""
        book = self._book
        return book and Book(book.shot, book.places, dict(book.sketches))

    def want(self, shot: Shot | None) -> None:
        """Reads the frames of a shot from now on, and forgets those of another; None pauses."""
        if shot is not None and (self._book is None or self._book.shot.files != shot.files):
            self._book = Book(shot, chosen(len(shot.files)), {})
            self._places = {shot.files[place]: place for place in self._book.places}
            self._asked = False
        if shot is None:
            if self._asked:
                self._asked = False
                self._loader.spare((), self._took)
        elif not self._asked and self._book is not None and not self._book.whole:
            places, known = self._book.places, self._book.sketches
            order = [places[i] for i in coarse_to_fine(len(places)) if places[i] not in known]
            self._asked = True
            self._loader.spare([shot.files[place] for place in order], self._took)

    def renew(self, file: Path) -> None:
        """A file was replaced: it is read again, if it belongs to the sequence."""
        if self._book is not None and self._places.get(file) in self._book.sketches:
            del self._book.sketches[self._places[file]]
            self._asked = False

    def take(self) -> bool:
        """Takes in what came; whether anything did."""
        book, new = self._book, False
        while not self._came.empty():
            made = self._came.get()
            place = self._places.get(made.file)
            if book is not None and place is not None:
                book.sketches[place], new = made, True
        if book is not None and book.whole:
            self._asked = False
        return new

    def _took(self, loaded: Loaded) -> None:
        """A frame that was read; in a thread of the loader."""
        self._came.put(sample(loaded, BYTES))
