"""The survey: measurements of every shot of a session, read in spare time and kept up to date with the decisions.

Each shot is read once, while keys rest and nothing else is read, and only a sample of it is kept; a changed correction
is measured on the sample. Everything but reading and measuring runs on the thread that answers keys.
"""

import operator
import queue
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from poise.scopes import BeforeAfter, Reel, reel
from poise.scopes.reel import FIGURES, THRESHOLD, Figures
from poise.stamp import Stamp
from poise_tui.measure.loaded import Loaded
from poise_tui.measure.sample import BYTES, Known, Sample, sample
from poise_tui.session.session import Session
from poise_tui.session.shot_state import ShotState
from poise_tui.workers.loader import Loader
from poise_tui.workers.thread import Answer, Latest

MEMORY = 48 * 2**20
"""The most bytes of all samples: with many shots, each sample has fewer pixels."""
AT_ONCE = 16
"""How many shots are handed over at once to be read or measured."""
NEAR = 60
"""Rows of the list above and below the current shot that can be on screen, and are brought up to date first."""
LOOKED_AT, LOOK = 200, 1.0
"""How many files are checked at once for replacement, and the seconds between checks."""


class Survey:
    """The measurements of a session's shots.

    Args:
        loader: reads the shots.
        found: called with a shot's index whenever it was read or measured.

    Attributes:
        version: changes whenever a measurement changes.
        threshold: the score over which a shot is an outlier.
    """

    def __init__(self, session: Session, loader: Loader, found: Callable[[int], None]) -> None:
        self.version = 0
        self.threshold = THRESHOLD
        self._session, self._loader, self._found = session, loader, found
        self._came: queue.SimpleQueue[Sample | Answer[str, Any]] = queue.SimpleQueue()
        """Results of threads, until the next tick: a call for each would make textual paint below the help screen."""
        self._worker: Latest[str, Any] = Latest("survey", self._came.put)
        self._known: dict[Path, Known] = {}
        """By the first file of a shot."""
        self._slots: list[ShotState] = []
        self._line: list[Known | None] = []
        """By the shot's index."""
        self._places: dict[Path, int] = {}
        self._rows = np.zeros((2, 0, len(FIGURES)))
        self._settled, self._faults = np.zeros((2, 0), bool)
        self._reels: dict[bool, tuple[object, Reel]] = {}
        self._asked: set[Path] = set()
        self._lacking = True
        self._lit = False
        self._next, self._looked = 0, 0.0
        self._stale_from = 0

    # What is known

    @property
    def measured(self) -> int:
        """The number of shots that were measured, or can't be."""
        self._align()
        return int(np.count_nonzero(self._settled))

    def known(self, index: int) -> Known | None:
        """What is known of a shot."""
        return self._known.get(self._session.slots[index].shot.first)

    def readings(self, index: int) -> BeforeAfter | None:
        """The readings of a shot's sample before and after its correction; None until they are known."""
        known = self.known(index)
        return known.readings if known else None

    def figures(self, before: bool) -> Figures:
        """(shots, FIGURES) of all shots, before or after their corrections; NaN until they are known."""
        self._align()
        rows: Figures = self._rows[0 if before else 1]
        return rows

    @property
    def faults(self) -> npt.NDArray[np.bool_]:
        """(shots,) True for a shot that can't be read, or can't be corrected."""
        self._align()
        return self._faults

    def reel(self, before: bool) -> Reel:
        """The statistics of the reel; shots that are held or skipped don't count, as for `poise check`."""
        left = [not slot.decision.delivered for slot in self._session.slots]
        rows = self.figures(before)
        key = (self.version, left, self.threshold)
        kept = self._reels.get(before)
        if kept is None or kept[0] != key:
            kept = (key, reel(np.where(np.array(left, bool)[:, None], np.nan, rows), self.threshold))
            self._reels[before] = kept
        return kept[1]

    # Input

    def take(self, index: int, loaded: Loaded) -> None:
        """Takes a picture that was read for the desk, since its sample costs nothing extra."""
        known = self.known(index)
        if known is None or known.sample.file != loaded.file or known.sample.stamp != loaded.stamp:
            self._take_sample(index, sample(loaded, self._bytes))

    def renewed(self) -> None:
        """Notes that shots have other files."""
        self._slots = []

    def renew(self, index: int) -> None:
        """Measures a shot whose decision changed, at once if that is quick, else in the thread."""
        known = self.known(index)
        slot = self._session.slots[index]
        if known is None or known.decision is slot.history.present or known.sample.pixels is None:
            return
        if known.lit(slot.delivered) and not self._lit:
            self._measure([index])  # too slow for the thread that answers keys
        else:
            self._put(index, replace(known.under(slot.delivered), decision=slot.history.present))

    # Without a key

    def pause(self) -> None:
        """Starts no more reading, because a key was pressed."""
        if self._asked:
            self._asked = set()
            self._loader.spare((), self._take_in_thread)

    def tick(self, free: bool, near: bool) -> None:
        """Takes results, and starts what is due.

        Args:
            free: whether keys rest and nothing else is being read.
            near: whether the reel is on screen, so that changed decisions are measured soon.
        """
        self._align()
        while not self._came.empty():
            came = self._came.get()
            if isinstance(came, Sample):
                self._take_spare(came)
            else:
                self._take_answer(came)
        if not self._worker.busy and (free or near):
            stale = self._stale()
            if stale:
                self._measure(stale)
                return
        if not free or self._asked or not self._loader.idle:
            return
        if self._lacking:
            wanted = self._unread()
            self._lacking = bool(wanted)
            slots = [self._session.slots[index] for index in wanted]
            files = [slot.shot.files[slot.judged] for slot in slots]
            self._asked = {*files}
            self._loader.spare(files, self._take_in_thread)
        elif not self._worker.busy and time.monotonic() - self._looked >= LOOK:
            self._looked = time.monotonic()
            self._look()

    def end(self) -> None:
        """Stops the thread."""
        self._worker.end()

    def _align(self) -> None:
        """Follows the session's list of shots, which can have grown."""
        slots = self._session.slots
        if len(slots) == len(self._slots) and all(map(operator.is_, slots, self._slots)):
            return
        self._slots = list(slots)
        self._places = {slot.shot.first: index for index, slot in enumerate(slots)}
        self._line = [self._known.get(slot.shot.first) for slot in slots]
        unknown = np.full((2, len(FIGURES)), np.nan)
        rows = [one.rows if one else unknown for one in self._line]
        self._rows = np.array(rows).reshape(-1, 2, len(FIGURES)).swapaxes(0, 1)
        self._settled = np.array([one is not None and one.settled for one in self._line], bool)
        self._faults = np.array([one is not None and one.fault is not None for one in self._line], bool)
        self._lacking = True
        self.version += 1

    @property
    def _bytes(self) -> int:
        return min(BYTES, MEMORY // max(len(self._session.slots), 1))

    def _around(self) -> Iterator[int]:
        """All indexes, the nearest to the current shot first."""
        at, count = self._session.index, len(self._session.slots)
        for step in range(max(at + 1, count - at)):
            for index in (at + step, at - step) if step else (at,):
                if 0 <= index < count:
                    yield index

    def _unread(self) -> list[int]:
        """The next shots to read; those whose pictures are in memory are taken at once."""
        found: list[int] = []
        for index in self._around():
            if self.known(index) is not None:
                continue
            slot = self._session.load(index)  # its sidecar may name the frame
            if not slot.loaded:
                continue
            loaded = self._loader.get(slot.shot.files[slot.judged])
            if loaded is not None:
                self.take(index, loaded)
            elif len(found) < AT_ONCE:
                found.append(index)
            else:
                break
        return found

    def _stale(self) -> list[int]:
        """Shots whose decision changed since they were measured: those that can be on screen, then others.

        Only part of the others is checked each time, since to check ten thousand would take as long as a nudge.
        """
        count = len(self._slots)
        start = self._stale_from if self._stale_from < count else 0
        self._stale_from = start + LOOKED_AT
        around = self._session.listing.around(*sorted(range(-NEAR, NEAR + 1), key=abs))
        found, dropped = [], False
        for index in dict.fromkeys((*around, *range(start, min(self._stale_from, count)))):
            one, slot = self._line[index], self._slots[index]
            if one is None or one.decision is slot.history.present:
                continue
            if one.sample.file != slot.shot.files[slot.judged]:
                self._known.pop(slot.shot.first, None)  # another frame is judged now: it is read again
                dropped = True
            elif one.sample.pixels is not None:
                found.append(index)
        if dropped:
            self._slots = []
        return found[:AT_ONCE]

    def _measure(self, indices: list[int]) -> None:
        """Measures shots in the thread."""
        slots = [self._session.slots[index] for index in indices]
        asked = [
            (slot.shot.first, self._known[slot.shot.first], slot.delivered, slot.history.present) for slot in slots
        ]
        self._worker.do(
            "measure",
            lambda _: [
                (first, replace(known.under(delivered), decision=decision))
                for first, known, delivered, decision in asked
            ],
        )

    def _look(self) -> None:
        """Checks whether files were replaced, some at a time, in the thread, since a remote disk can be slow."""
        slots = self._session.slots
        start = self._next if self._next < len(slots) else 0
        self._next = start + LOOKED_AT
        samples = [(s.shot.first, k.sample) for s in slots[start : self._next] if (k := self._known.get(s.shot.first))]
        self._worker.do("look", lambda _: [first for first, one in samples if Stamp.of(one.file) != one.stamp])

    # Results

    def _take_in_thread(self, loaded: Loaded) -> None:
        """Takes a picture that was read in spare time, in a thread of the loader."""
        self._came.put(sample(loaded, self._bytes))

    def _take_spare(self, made: Sample) -> None:
        self._asked.discard(made.file)
        slots = self._session.slots
        index = next((i for i in self._around() if slots[i].shot.files[slots[i].judged] == made.file), None)
        if index is not None:
            self._take_sample(index, made)

    def _take_sample(self, index: int, made: Sample) -> None:
        self._session.load(index)
        self._put(index, Known(made, fault=made.fault))
        self._found(index)

    def _take_answer(self, made: Answer[str, Any]) -> None:
        if isinstance(made.found, Exception):
            raise made.found
        if made.asked == "look":
            self._drop(made.found)
        else:
            self._take_measured(made.found)
        self._align()

    def _drop(self, files: Sequence[Path]) -> None:
        """Forgets shots whose files were replaced, or are gone."""
        for first in files:
            self._known.pop(first, None)
            self._slots = []

    def _take_measured(self, found: Sequence[tuple[Path, Known]]) -> None:
        self._align()
        for first, known in found:
            kept = self._known.get(first)
            self._lit = self._lit or bool(known.decision and known.lit(known.decision))
            if first in self._places and kept is not None and kept.sample is known.sample:
                self._put(self._places[first], known)
                self._found(self._places[first])

    def _put(self, index: int, known: Known) -> None:
        self._align()
        self._known[self._slots[index].shot.first] = self._line[index] = known
        self._rows[:, index] = known.rows
        self._settled[index], self._faults[index] = known.settled, known.fault is not None
        self.version += 1
