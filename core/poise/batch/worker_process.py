"""A process that does jobs, one at a time: it may crash or hang, and nobody else ends with it.

It is started by itself rather than by `multiprocessing`: it doesn't run the main module again, needs no process that
keeps track of it, and may be started where daemons may start none, as on a worker of a cluster.
"""

import contextlib
import ctypes
import os
import select
import signal
import subprocess
import sys
import threading
import warnings
from collections.abc import Callable
from dataclasses import dataclass
from multiprocessing.connection import Connection, Pipe
from typing import Any, Generic, TypeVar

J = TypeVar("J")
R = TypeVar("R")

_START = "import sys; sys.path[:] = sys.argv[2:]; from poise.batch.worker_process import serve; serve(int(sys.argv[1]))"
_TERMINAL = {signal.SIGINT, signal.SIGHUP}
"""Signals that a terminal sends to all processes at once; the parent answers them."""
_M_TRIM_THRESHOLD, _M_MMAP_MAX = -1, -4
"""Parameters of glibc's mallopt(3)."""


@dataclass(frozen=True)
class LostJob:
    """A job that its process did not bring back.

    Attributes:
        again: whether it may be tried once more.
    """

    reason: str
    again: bool = False


class WorkerProcess(Generic[J, R]):
    """One process, and this end of the pipe to it.

    Args:
        work: importable by name; jobs and results are pickled.

    Example:
        child = Child(do)
        child.hand(job)
        made = child.result()
        child.end()
    """

    def __init__(self, work: Callable[[J], R]) -> None:
        self.pipe, there = Pipe()
        with there:
            call = [sys.executable, "-c", _START, str(there.fileno()), *sys.path]
            before = signal.pthread_sigmask(signal.SIG_BLOCK, _TERMINAL)
            try:  # it leaves Ctrl-C to its parent, from its first moment on
                self._process = subprocess.Popen(call, stdin=subprocess.DEVNULL, pass_fds=[there.fileno()])
            finally:
                signal.pthread_sigmask(signal.SIG_SETMASK, before)
        self._send(work)

    def hand(self, job: J) -> None:
        """Gives it a job; that it died in the meantime is seen by `result`."""
        self._send(job)

    def result(self, limit: float | None = None) -> R | LostJob:
        """What came of the job; waited for if need be, for so many seconds at most.

        A process that is lost, or that took longer, is of no more use.
        """
        try:
            if self.pipe.poll(limit):
                made: R = self.pipe.recv()
                return made
        except (EOFError, OSError):
            with contextlib.suppress(subprocess.TimeoutExpired):
                self._process.wait(5)
            return LostJob(f"the process that worked on it was ended by {self._how()}", again=True)
        return too_long(limit or 0.0)

    def end(self) -> None:
        """Ends the process, whatever it is at."""
        self.pipe.close()
        self._process.kill()
        with contextlib.suppress(subprocess.TimeoutExpired):
            self._process.wait(5)

    def _send(self, message: object) -> None:
        with contextlib.suppress(OSError):
            self.pipe.send(message)

    def _how(self) -> str:
        code = self._process.returncode
        if code is None or code >= 0:
            return f"itself, with code {code}"
        try:
            name = signal.Signals(-code).name
        except ValueError:
            name = f"signal {-code}"
        return f"{name} (out of memory?)" if name == "SIGKILL" else f"{name}, a fault in a codec"


def too_long(limit: float) -> LostJob:
    """What is told of a job that took longer than it may."""
    return LostJob(f"it took longer than {limit:g} s and was given up; allow more by --time-limit")


def serve(handle: int) -> None:
    """In the process: one job after the other, until the other end of the pipe is gone.

    Args:
        handle: the descriptor of this end; the work comes first through it.
    """
    for number in _TERMINAL:
        signal.signal(number, signal.SIG_IGN)
    signal.pthread_sigmask(signal.SIG_UNBLOCK, _TERMINAL)
    warnings.simplefilter("ignore")  # what libraries say to programmers is no use to users
    threading.Thread(target=_end_with_parent, args=(handle,), daemon=True).start()
    _keep_pages()
    pipe: Connection[Any, Any] = Connection(handle)
    work = pipe.recv()
    while True:
        try:
            job = pipe.recv()
        except (EOFError, OSError):
            return
        pipe.send(work(job))


def _end_with_parent(handle: int) -> None:
    """Ends this process when the other end of its pipe is closed, or its parent killed, even in the midst of a job."""
    closed = select.poll()
    closed.register(handle, 0)
    closed.poll()
    os._exit(1)


def _keep_pages() -> None:
    """Has the memory of one frame kept for the next, which saves clearing it anew; where the allocator is glibc's.

    Measured on UHD 16 bit, uncompressed: a fifth of the time of a frame.
    """
    with contextlib.suppress(AttributeError, OSError):
        allocator = ctypes.CDLL(None).mallopt
        allocator(_M_MMAP_MAX, 0)
        allocator(_M_TRIM_THRESHOLD, 2**31 - 1)
