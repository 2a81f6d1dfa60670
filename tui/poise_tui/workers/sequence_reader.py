"""Reads the frames of a sequence one by one in spare time, and keeps a few thousand pixels of each.

It reads coarse to fine: every 16th frame first, then those between, so that the shape of the run shows soon. The
loader reads them while it has nothing else to read.
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
"""Size of one sample: 4,000 pixels of 16 bits in three channels; those of a whole sequence take 12 MB."""
MOST = 512
"""The most frames that are read; of a longer sequence, this many evenly spaced ones."""
COARSE = 16


def chosen(count: int, most: int = MOST) -> tuple[int, ...]:
    """The indexes of the frames to read: all of them, or `most` evenly spaced ones with the first and the last.

    Example:
        >>> chosen(10, 4)
        (0, 3, 6, 9)
    """
    if count <= most:
        return tuple(range(count))
    return tuple(np.linspace(0, count - 1, most).round().astype(int).tolist())


def coarse_to_fine(count: int) -> list[int]:
    """The order in which `count` frames are read: the first and the last, then at ever smaller distances.

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
    """Keeps the samples of one sequence at a time; only reading happens outside the thread that answers keys."""

    def __init__(self, loader: Loader) -> None:
        self._loader = loader
        self._book: Book | None = None
        self._places: dict[Path, int] = {}
        self._asked = False
        self._came: queue.SimpleQueue[Sample] = queue.SimpleQueue()
        """Samples from the loader, until `take`."""

    @property
    def reading(self) -> bool:
        """Whether frames are being read."""
        return self._asked

    @property
    def book(self) -> Book | None:
        """A snapshot of what is known now."""
        book = self._book
        return book and Book(book.shot, book.places, dict(book.samples))

    def want(self, shot: Shot | None) -> None:
        """Reads the frames of a shot from now on, and drops those of another; None pauses."""
        if shot is not None and (self._book is None or self._book.shot.files != shot.files):
            self._book = Book(shot, chosen(len(shot.files)), {})
            self._places = {shot.files[place]: place for place in self._book.places}
            self._asked = False
        if shot is None:
            if self._asked:
                self._asked = False
                self._loader.spare((), self._took)
        elif not self._asked and self._book is not None and not self._book.whole:
            places, known = self._book.places, self._book.samples
            order = [places[i] for i in coarse_to_fine(len(places)) if places[i] not in known]
            self._asked = True
            self._loader.spare([shot.files[place] for place in order], self._took)

    def renew(self, file: Path) -> None:
        """Reads a file that was replaced again, if it belongs to the sequence."""
        if self._book is not None and self._places.get(file) in self._book.samples:
            del self._book.samples[self._places[file]]
            self._asked = False

    def take(self) -> bool:
        """Takes what was read; returns whether there was anything."""
        book, new = self._book, False
        while not self._came.empty():
            one = self._came.get()
            place = self._places.get(one.file)
            if book is not None and place is not None:
                book.samples[place], new = one, True
        if book is not None and book.whole:
            self._asked = False
        return new

    def _took(self, loaded: Loaded) -> None:
        """Takes a frame in a thread of the loader."""
        self._came.put(sample(loaded, BYTES))
