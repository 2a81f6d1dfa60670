"""The lock of a folder of outputs: two batches never write into the same one."""

import contextlib
import errno
import fcntl
import os
import socket
from collections.abc import Iterator
from pathlib import Path

from poise.errors import OutputError
from poise.regular_file import open_without_links

NAME = ".poise-lock"


@contextlib.contextmanager
def locked(folder: Path) -> Iterator[None]:
    """Holds a folder; whoever dies lets go of it.

    Raises:
        OutputError: another batch holds it, or nothing can be written there.
    """
    handle = _hold(folder)
    try:
        with contextlib.suppress(OSError):
            os.ftruncate(handle, 0)
            os.write(handle, f"another poise apply (process {os.getpid()} on {socket.gethostname()})\n".encode())
        yield
    finally:
        with contextlib.suppress(OSError):
            (folder / NAME).unlink()  # while it is held: only the holder ever takes the file away
        os.close(handle)


def _hold(folder: Path) -> int:
    """A descriptor of the lock file with the lock on it.

    Between open and lock, the batch before may have ended and unlinked the file: the lock is then on a file that nobody
    else will find, so it counts only while the name still leads to it.
    """
    while True:
        try:
            handle = open_without_links(folder / NAME, os.O_RDWR | os.O_CREAT)
        except OSError as fault:
            raise not_writable(folder, fault) from fault
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError as fault:
            if fault.errno in (errno.EAGAIN, errno.EACCES):
                by = os.read(handle, 200).decode("utf-8", "replace").strip() or "another program"
                os.close(handle)
                raise OutputError(folder, f"{by} writes into it; wait for its end, or choose another --out") from None
            return handle  # some network file systems have no locks: better unguarded than not at all
        with contextlib.suppress(OSError):
            if os.path.samestat(os.fstat(handle), os.lstat(folder / NAME)):
                return handle
        os.close(handle)


def not_writable(folder: Path, fault: OSError) -> OutputError:
    """What is told of a folder that takes no outputs."""
    return OutputError(folder, f"no outputs can be written here: {(fault.strerror or str(fault)).lower()}")
