"""Loading pictures in the background: the shot in hand first, its neighbours next, the latest kept in bounded memory.

Of two threads one takes nothing but the shot in hand, so that a neighbour that decodes slowly never delays it. What is
no longer wanted when its turn comes is passed over, which is what happens to most when a key is held down on the list.
The other thread also reads what somebody has use for in spare time: only while nothing wanted is left to read.
"""

import threading
from collections import OrderedDict
from collections.abc import Callable, Sequence
from pathlib import Path

from poise.errors import FileError, PoiseError
from poise.frames import Frame, proxy, read
from poise.stamp import Stamp
from poise_tui.measure.loaded import HEIGHT, WIDTH, Loaded, loaded

MEMORY = 64 * 2**20
"""Bytes of proxies that are kept, whole frames not counted: of those there is one."""


Take = Callable[[Loaded], None]


class Loader:
    """Reads files in its own threads and reports each by a call from one of them.

    Args:
        report: called with every picture that was asked for, once it is there.

    Example:
        loader = Loader(print)
        loader.want([Path("quay_01.tif"), Path("quay_02.tif")])
    """

    def __init__(self, report: Callable[[Loaded], None], memory: int = MEMORY) -> None:
        self._report = report
        self._memory = memory
        self._kept: OrderedDict[Path, Loaded] = OrderedDict()
        self._whole: tuple[Path, Stamp | None, Frame] | None = None
        self._wanted: list[Path] = []
        self._spare: list[Path] = []
        self._take: Take = report
        self._busy: set[Path] = set()
        self._work = threading.Condition()
        self._ended = False
        for urgent in (True, False):
            threading.Thread(target=self._run, args=(urgent,), daemon=True, name="poise-load").start()

    def get(self, file: Path) -> Loaded | None:
        """A picture that is there, as it was when it was read; `want` reads it again if it was replaced."""
        with self._work:
            found = self._kept.get(file)
            if found is not None:
                self._kept.move_to_end(file)
        return found

    def want(self, files: Sequence[Path]) -> None:
        """Asks for pictures, the most urgent first; what was asked for before and is not started is given up."""
        with self._work:
            self._wanted = list(files)
            self._work.notify_all()

    def spare(self, files: Sequence[Path], take: Take) -> None:
        """Asks for pictures to be read one by one while nothing else is; what was asked for so before is given up.

        Args:
            take: called with each in a thread of the loader, which doesn't keep them.
        """
        with self._work:
            self._spare, self._take = list(files), take
            self._work.notify_all()

    @property
    def idle(self) -> bool:
        """Whether nothing is being read, nor left to be read in spare time."""
        with self._work:
            return not (self._busy or self._spare)

    def whole(self, file: Path) -> Frame:
        """A frame at full resolution, kept from the last reading of it if that is still true; for background threads.

        Raises:
            FrameError: it can't be read.
        """
        stamp = Stamp.of(file)
        kept = self._whole
        if kept is not None and kept[:2] == (file, stamp):
            return kept[2]
        frame = read(file)
        self._whole = (file, stamp, frame)
        return frame

    @property
    def held(self) -> int:
        """Bytes of proxies in memory."""
        with self._work:
            return sum(loaded.bytes for loaded in self._kept.values())

    def end(self) -> None:
        """Stops once what is being read is done."""
        with self._work:
            self._ended = True
            self._work.notify_all()

    def _run(self, urgent: bool) -> None:
        while (found := self._next(urgent)) is not None:
            file, take = found
            loaded = self.get(file) if take and not self._lacks(file) else None
            loaded = loaded or self._read(file)
            with self._work:
                self._busy.discard(file)
                wanted = take is None or file in self._wanted
                if wanted:
                    self._kept[file] = loaded
                    self._kept.move_to_end(file)
                    self._trim()
                self._work.notify_all()  # spare time may have begun
            if wanted:
                self._report(loaded)
            if take is not None:
                take(loaded)

    def _next(self, urgent: bool) -> tuple[Path, Take | None] | None:
        """What to read next, and who takes what is read in spare time; the urgent thread reads what is wanted most."""
        with self._work:
            while True:
                if self._ended:
                    return None
                for file in self._wanted[:1] if urgent else self._wanted:
                    if file not in self._busy and self._lacks(file):
                        self._busy.add(file)
                        return file, None
                if self._spare and not urgent and not self._busy:
                    file = self._spare.pop(0)
                    self._busy.add(file)
                    return file, self._take
                self._work.wait()

    def _lacks(self, file: Path) -> bool:
        """Whether a picture is not there as the file is now."""
        kept = self._kept.get(file)
        return kept is None or kept.stamp != Stamp.of(file)

    def _read(self, file: Path) -> Loaded:
        stamp = Stamp.of(file)
        try:
            frame = read(file)
            small = proxy(frame.colour, WIDTH, HEIGHT)
        except FileError as fault:
            return Loaded(file, stamp, fault=fault.reason)
        except PoiseError as fault:
            return Loaded(file, stamp, fault=str(fault))
        if self._wanted[:1] == [file]:
            self._whole = (file, stamp, frame)
        return loaded(file, stamp, frame, small)

    def _trim(self) -> None:
        """Drops what was not used for longest, but never what is wanted now."""
        held = sum(loaded.bytes for loaded in self._kept.values())
        for file in list(self._kept):
            if held <= self._memory:
                return
            if file not in self._wanted:
                held -= self._kept.pop(file).bytes
