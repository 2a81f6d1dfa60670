"""Stopping: a batch that is asked to end finishes what it has begun, and asked again ends at once."""

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType

SIGNALS = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)


class Stop:
    """Whether a run was asked to end: once to finish what it has begun, more often to end at once."""

    def __init__(self) -> None:
        self.asked = 0

    def ask(self) -> None:
        """Asks once more."""
        self.asked += 1


@contextmanager
def stoppable() -> Iterator[Stop]:
    """Takes Ctrl-C, SIGTERM and a lost terminal as requests while it lasts; in another thread than the main one, none.

    Example:
        with stoppable() as stop:
            while not stop.asked: ...
    """
    stop = Stop()
    if threading.current_thread() is not threading.main_thread():
        yield stop
        return

    def asked(number: int, frame: FrameType | None) -> None:
        stop.ask()

    before = {number: signal.signal(number, asked) for number in SIGNALS}
    try:
        yield stop
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)
