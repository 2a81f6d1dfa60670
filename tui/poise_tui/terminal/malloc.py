"""Memory: what is freed goes back to the system, so that walking a reel of large frames takes no more than one does."""

import contextlib
import ctypes

MAPPED = 2 * 2**20
"""Bytes from which an array has pages of its own. A nudge's are smaller; a frame's and a proxy's are not."""
ARENAS = 2
_ARENA_MAX, _MMAP_THRESHOLD = -8, -3
"""M_ARENA_MAX and M_MMAP_THRESHOLD of mallopt(3)."""


def hand_back() -> None:
    """Keeps glibc from holding on to freed frames: its threshold grows with what is freed, to 32 MiB, unless it is set.

    Does nothing where the C library has no mallopt.
    """
    with contextlib.suppress(OSError, AttributeError, TypeError):
        mallopt = ctypes.CDLL(None).mallopt
        mallopt(_MMAP_THRESHOLD, MAPPED)
        mallopt(_ARENA_MAX, ARENAS)
