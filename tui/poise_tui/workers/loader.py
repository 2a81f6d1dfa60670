"""Loads pictures in the background: the current shot first, its neighbours next, the latest kept in bounded memory.

There are two threads. One reads only the current shot, so that a neighbour that decodes slowly never delays it. A
picture that is no longer wanted at its turn is skipped, as most are while a key is held down on the list. The other
thread also reads pictures in spare time, while no wanted picture is left to read.
"""

import threading
from collections import OrderedDict
from collections.abc import Callable, Sequence
from contextlib import suppress
from pathlib import Path

from poise.errors import why_not
from poise.frames import Frame, proxy, read
from poise.stamp import Stamp
from poise_tui.measure.loaded import HEIGHT, WIDTH, Loaded, loaded

MEMORY = 64 * 2**20
"""The most bytes of proxies that are kept; whole frames, of which there is one, are not counted."""


Take = Callable[[Loaded], None]


class Loader:
    """Reads files in its own threads and reports each from one of them.

    Args:
        report: called with every wanted picture once it is loaded.

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
        self._unseen: set[Path] = set()
        """The wanted files that were not checked since they were asked for."""
        self._spare: list[Path] = []
        self._take: Take = report
        self._busy: set[Path] = set()
        self._work = threading.Condition()
        self._ended = False
        for urgent in (True, False):
            threading.Thread(target=self._run, args=(urgent,), daemon=True, name="poise-load").start()

    def get(self, file: Path) -> Loaded | None:
        """A picture in memory, as it was when it was read; `want` reads it again if the file was replaced."""
        with self._work:
            found = self._kept.get(file)
            if found is not None:
                self._kept.move_to_end(file)
        return found

    def want(self, files: Sequence[Path]) -> None:
        """Asks for pictures, the most urgent first; replaces earlier requests that have not started."""
        with self._work:
            self._wanted, self._unseen = list(files), set(files)
            self._work.notify_all()

    def spare(self, files: Sequence[Path], take: Take) -> None:
        """Asks for pictures to be read one by one in spare time; replaces earlier requests of this kind.

        Args:
            take: called with each picture in a thread of the loader, which doesn't keep it.
        """
        with self._work:
            self._spare, self._take = list(files), take
            self._work.notify_all()

    @property
    def idle(self) -> bool:
        """Whether nothing is being read or left to read in spare time."""
        with self._work:
            return not (self._busy or self._spare)

    def whole(self, file: Path) -> Frame:
        """A frame at full resolution, from memory if the file is unchanged; for background threads.

        Raises:
            FrameError: the file can't be read.
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
        """Stops the threads after the present file."""
        with self._work:
            self._ended = True
            self._work.notify_all()

    def _run(self, urgent: bool) -> None:
        while (found := self._next(urgent)) is not None:
            file, take = found
            loaded = self._still(file)
            if loaded is not None and take is None:
                self._done(file)
                continue
            loaded = loaded or self._read(file)
            try:
                self._hand_over(loaded, take)
            except Exception as fault:  # a receiver failed: report it as the picture's fault, and keep the thread
                with suppress(Exception):
                    self._hand_over(Loaded(file, loaded.stamp, fault=why_not(file, fault)), take)

    def _hand_over(self, loaded: Loaded, take: Take | None) -> None:
        file = loaded.file
        with self._work:
            self._busy.discard(file)
            wanted = take is None or file in self._wanted
            if wanted:
                self._kept[file] = loaded
                self._kept.move_to_end(file)
                self._trim()
            self._work.notify_all()  # it may be spare time now
        if wanted:
            self._report(loaded)
        if take is not None:
            take(loaded)

    def _next(self, urgent: bool) -> tuple[Path, Take | None] | None:
        """The next file, and who takes it if it is read in spare time; the urgent thread takes only the first file."""
        with self._work:
            while True:
                if self._ended:
                    return None
                for file in self._wanted[:1] if urgent else self._wanted:
                    if file in self._unseen and file not in self._busy:
                        self._unseen.discard(file)
                        self._busy.add(file)
                        return file, None
                if self._spare and not urgent and not self._busy:
                    file = self._spare.pop(0)
                    self._busy.add(file)
                    return file, self._take
                self._work.wait()

    def _still(self, file: Path) -> Loaded | None:
        """A picture in memory if its file is unchanged; it asks the disk, so it runs only in a thread of the loader."""
        kept = self.get(file)
        return kept if kept is not None and kept.stamp == Stamp.of(file) else None

    def _done(self, file: Path) -> None:
        with self._work:
            self._busy.discard(file)
            self._work.notify_all()  # it may be spare time now

    def _read(self, file: Path) -> Loaded:
        stamp = Stamp.of(file)
        try:
            frame = read(file)
            small = proxy(frame.colour, WIDTH, HEIGHT)
            made = loaded(file, stamp, frame, small)
        except Exception as fault:  # any exception must cost this picture only
            return Loaded(file, stamp, fault=why_not(file, fault))
        if self._wanted[:1] == [file]:
            self._whole = (file, stamp, frame)
        return made

    def _trim(self) -> None:
        """Drops the least recently used pictures, but never a wanted one."""
        held = sum(loaded.bytes for loaded in self._kept.values())
        for file in list(self._kept):
            if held <= self._memory:
                return
            if file not in self._wanted:
                held -= self._kept.pop(file).bytes
