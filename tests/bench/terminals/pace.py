"""Keys sent to a terminal at a pace, and how far behind the last of them the picture is."""

import time
from collections.abc import Sequence
from typing import NamedTuple

from terminals.pty import Pty


class Lag(NamedTuple):
    """When the last key was sent and the last byte of its frame came (monotonic seconds); bytes since the first key."""

    last_key: float
    last_byte: float
    size: int

    @property
    def seconds(self) -> float:
        return self.last_byte - self.last_key


def lag(pty: Pty, keys: Sequence[str], per_second: float, gap: float = 0.06) -> Lag:
    """Sends the keys at a pace and waits for the first gap (seconds) in what is drawn after the last.

    Raises:
        TimeoutError: nothing was drawn after the last key.
    """
    first = pty.mark()
    begun = time.monotonic()
    for i, key in enumerate(keys):
        time.sleep(max(0.0, begun + i / per_second - time.monotonic()))
        before = pty.mark()
        last_key = time.monotonic()
        pty.send(key)
    burst = pty.burst(before, gap)
    return Lag(last_key, burst.last, before - first + burst.size)
