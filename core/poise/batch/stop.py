"""Stopping a batch: the first request lets running jobs finish, the second ends it at once."""

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType

SIGNALS = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)


class Stop:
    """Counts the requests to stop: one lets running jobs finish, two or more drop them."""

    def __init__(self) -> None:
        self.asked = 0

    def ask(self) -> None:
        """Add a request."""
        self.asked += 1


@contextmanager
def stoppable() -> Iterator[Stop]:
    """Count Ctrl-C, SIGTERM and a lost terminal as requests to stop; outside the main thread signals are not handled.

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
