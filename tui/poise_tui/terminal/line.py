"""Pacing: a frame is drawn when the line is free and never queued, so that the newest state is always drawn."""

import select
import time
from collections.abc import Callable

STALL = 0.1
"""Seconds that a frame can take to leave before the line counts as slow."""
CAUTION = 5.0
"""Seconds before a slow line is trusted again: servers on the way buffer more than this end can see."""
LEAST = 4096
"""A frame of fewer characters fits into the buffer of any terminal, so its time depends only on the machine."""
LONGEST = 0.5
"""The most seconds that a frame waits, since a machine that was busy for a moment looks like a slow line."""
SHARE = 0.8
"""The share of a slow line's measured rate that is used."""


class Line:
    """The speed of the line to the terminal, estimated from how long frames take to leave.

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
        """Notes that a frame was handed over, with its size in characters."""
        self._began, self._sent, self._leaving = self._clock(), sent, True

    def drained(self) -> None:
        """Notes that nothing is waiting at this end."""
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
    """Whether a terminal accepts more output now; True if that can't be determined.

    A pseudo terminal of Linux always says that nothing waits in it (TIOCOUTQ), but it is writable only while there is
    room.
    """
    try:
        return bool(select.select([], [handle], [], 0)[1])
    except (OSError, ValueError):
        return True
