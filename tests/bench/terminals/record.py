"""The record of a terminal's bytes: every chunk with the time it came, and waiting for what comes next."""

import bisect
import threading
import time
from typing import NamedTuple


class Burst(NamedTuple):
    """Bytes without a gap: when the first and the last came (monotonic seconds), and how many."""

    first: float
    last: float
    size: int


class Record:
    """Bytes in the order they came. One thread adds, others read and wait."""

    def __init__(self) -> None:
        self._data = bytearray()
        self._ends: list[int] = []
        self._times: list[float] = []
        self._ended = False
        self._news = threading.Condition()

    def add(self, chunk: bytes) -> None:
        with self._news:
            self._data += chunk
            self._ends.append(len(self._data))
            self._times.append(time.monotonic())
            self._news.notify_all()

    def end(self) -> None:
        """No more will come."""
        with self._news:
            self._ended = True
            self._news.notify_all()

    def __len__(self) -> int:
        return len(self._data)

    @property
    def ended(self) -> bool:
        return self._ended

    @property
    def last_time(self) -> float | None:
        """When the last byte came."""
        with self._news:
            return self._times[-1] if self._times else None

    def between(self, start: int, stop: int | None = None) -> bytes:
        with self._news:
            return bytes(self._data[start:stop])

    def chunks(self, start: int = 0) -> list[tuple[float, int]]:
        """Time and end position of each chunk that holds bytes from `start` on."""
        with self._news:
            first = bisect.bisect_right(self._ends, start)
            return list(zip(self._times[first:], self._ends[first:], strict=True))

    def wait_beyond(self, position: int, timeout: float) -> bool:
        """Waits until there are bytes beyond the position; False when none came in time or none can come."""
        with self._news:
            self._news.wait_for(lambda: len(self._data) > position or self._ended, timeout)
            return len(self._data) > position

    def burst(self, start: int, gap: float, timeout: float) -> Burst:
        """The bytes from `start` up to the first gap (seconds) after them; judged by when they came, not by when asked.

        Raises:
            TimeoutError: no byte came, or no gap.
        """
        deadline = time.monotonic() + timeout
        with self._news:
            while True:
                times = self._times[bisect.bisect_right(self._ends, start) :]
                ends = self._ends[bisect.bisect_right(self._ends, start) :]
                for i in range(len(times) - 1):
                    if times[i + 1] - times[i] > gap:
                        return Burst(times[0], times[i], ends[i] - start)
                now = time.monotonic()
                if times and (self._ended or now - times[-1] > gap):
                    return Burst(times[0], times[-1], ends[-1] - start)
                if now >= deadline or self._ended:
                    raise TimeoutError(f"no gap of {gap} s came" if times else "no byte came")
                self._news.wait(min(deadline, times[-1] + gap + 1e-4 if times else deadline) - now)

    def wait_quiet(self, quiet: float, timeout: float) -> None:
        """Waits until no byte has come for `quiet` seconds, counted from this call on at the earliest.

        Raises:
            TimeoutError: bytes kept coming.
        """
        begun = time.monotonic()
        with self._news:
            while not self._ended:
                now = time.monotonic()
                due = max(begun, self._times[-1] if self._times else begun) + quiet
                if now >= due:
                    return
                if now >= begun + timeout:
                    raise TimeoutError(f"bytes kept coming for {timeout} s")
                self._news.wait(min(due, begun + timeout) - now)
