"""Pacing: a frame is drawn when the line is free, never queued, so that what is drawn is always the newest state."""

import select
import time
from collections.abc import Callable

STALL = 0.1
"""Seconds that a frame may take to leave before the line counts as slow."""
CAUTION = 5.0
"""Seconds that a slow line is not trusted again: servers on the way hold more than this end can see."""
LEAST = 4096
"""Characters below which a frame fits into the buffer of any terminal, so that its time tells of the machine only."""
LONGEST = 0.5
"""Seconds that a frame waits at most: a machine that was busy for a moment looks like a slow line."""
SHARE = 0.8
"""Of a slow line's measured rate, how much is used."""


class Line:
    """How fast the way to the terminal is, judged by how long frames take to leave.

    Example:
        line = Line()
        line.started(18_000)
        line.drained()
        line.wait()  # seconds before the next frame should start
    """

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._began = 0.0
        self._sent = 0
        self._leaving = False
        self._rate: float | None = None
        self._slow_until = 0.0

    def started(self, sent: int) -> None:
        """A frame of so many bytes was handed over."""
        self._began, self._sent, self._leaving = self._clock(), sent, True

    def drained(self) -> None:
        """Nothing waits any more at this end."""
        now = self._clock()
        if self._leaving and self._sent >= LEAST and now - self._began >= STALL:
            self._rate = self._sent / (now - self._began)
            self._slow_until = now + CAUTION
        self._leaving = False

    def wait(self) -> float:
        """Seconds before the next frame should start; 0 on a line that keeps up."""
        now = self._clock()
        if self._rate is None or now >= self._slow_until:
            return 0.0
        free = min(self._began + self._sent / (self._rate * SHARE), self._slow_until)
        return min(max(0.0, free - now), LONGEST)


def writable(handle: int) -> bool:
    """Whether a terminal takes more now; True where that can't be told.

    A pseudo terminal of Linux always says that nothing waits in it (TIOCOUTQ), but it is writable only while there is
    room.
    """
    try:
        return bool(select.select([], [handle], [], 0)[1])
    except (OSError, ValueError):
        return True
