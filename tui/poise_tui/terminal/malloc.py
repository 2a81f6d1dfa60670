"""Memory: freed frames go back to the system, so that a reel of large frames takes no more memory than one frame."""

import contextlib
import ctypes

MAPPED = 2 * 2**20
"""Size in bytes from which an array has pages of its own: larger than those of a nudge, smaller than a proxy."""
ARENAS = 2
_ARENA_MAX, _MMAP_THRESHOLD = -8, -3
"""M_ARENA_MAX and M_MMAP_THRESHOLD of mallopt(3)."""


def return_freed() -> None:
    """Keeps glibc from holding on to freed frames: its threshold grows with what is freed, to 32 MiB, unless it is set.

    Does nothing if the C library has no mallopt.
    """
    with contextlib.suppress(OSError, AttributeError, TypeError):
        mallopt = ctypes.CDLL(None).mallopt
        mallopt(_MMAP_THRESHOLD, MAPPED)
        mallopt(_ARENA_MAX, ARENAS)
