"""A process that runs jobs one at a time, and may crash or hang without affecting others.

It is started directly rather than by `multiprocessing`: it doesn't import the main module again, needs no resource
tracker, and can be started by daemonic processes, such as workers of a cluster.
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
"""Signals that a terminal sends to all its processes at once; only the parent handles them."""
_M_TRIM_THRESHOLD, _M_MMAP_MAX = -1, -4
"""Parameters of glibc's mallopt(3)."""


@dataclass(frozen=True)
class LostJob:
    """A job whose process died or exceeded the time limit.

    Attributes:
        again: whether it may be run once more.
    """

    reason: str
    again: bool = False


class WorkerProcess(Generic[J, R]):
    """One child process, and the parent's end of the pipe to it.

    Args:
        work: runs one job; importable by name. Jobs and results are pickled.

    Example:
        child = WorkerProcess(process_frame)
        child.start(job)
        result = child.result()
        child.end()
    """

    def __init__(self, work: Callable[[J], R]) -> None:
        self.pipe, there = Pipe()
        with there:
            call = [sys.executable, "-c", _START, str(there.fileno()), *sys.path]
            before = signal.pthread_sigmask(signal.SIG_BLOCK, _TERMINAL)
            try:  # the child must never handle Ctrl-C itself
                self._process = subprocess.Popen(call, stdin=subprocess.DEVNULL, pass_fds=[there.fileno()])
            finally:
                signal.pthread_sigmask(signal.SIG_SETMASK, before)
        self._send(work)

    def start(self, job: J) -> None:
        """Send a job; if the process has died meanwhile, `result` reports that."""
        self._send(job)

    def result(self, limit: float | None = None) -> R | LostJob:
        """Wait for the result of the job.

        After a `LostJob` the process must not be used again.

        Args:
            limit: seconds to wait; None for any time.
        """
        try:
            if self.pipe.poll(limit):
                result: R = self.pipe.recv()
                return result
        except (EOFError, OSError):
            with contextlib.suppress(subprocess.TimeoutExpired):
                self._process.wait(5)
            return LostJob(f"its process was ended by {self._how()}", again=True)
        return too_long(limit or 0.0)

    def end(self) -> None:
        """Kill the process."""
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
    """The result of a job that exceeded its time limit."""
    return LostJob(f"it took longer than {limit:g} s and was given up; allow more time with --time-limit")


def serve(handle: int) -> None:
    """Runs in the child: one job after the other, until the parent closes the pipe.

    Args:
        handle: the descriptor of the child's end of the pipe; the parent sends the work function first.
    """
    for number in _TERMINAL:
        signal.signal(number, signal.SIG_IGN)
    signal.pthread_sigmask(signal.SIG_UNBLOCK, _TERMINAL)
    warnings.simplefilter("ignore")  # warnings of libraries are for programmers
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
    """End this process when the parent closes the pipe or is killed, even during a job."""
    closed = select.poll()
    closed.register(handle, 0)
    closed.poll()
    os._exit(1)


def _keep_pages() -> None:
    """Keep the memory of one frame for the next, so that the kernel need not clear pages again; glibc only.

    Measured on UHD 16 bit, uncompressed: a fifth of the time of a frame.
    """
    with contextlib.suppress(AttributeError, OSError):
        allocator = ctypes.CDLL(None).mallopt
        allocator(_M_MMAP_MAX, 0)
        allocator(_M_TRIM_THRESHOLD, 2**31 - 1)
