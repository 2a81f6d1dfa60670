"""The lock of a folder of outputs: two batches never write into the same folder."""

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
    """Lock a folder; the system releases the lock of a process that dies.

    Raises:
        OutputError: another batch has locked it, or it can't be written.
    """
    handle = _hold(folder)
    try:
        with contextlib.suppress(OSError):
            os.ftruncate(handle, 0)
            os.write(handle, f"another poise apply (process {os.getpid()} on {socket.gethostname()})\n".encode())
        yield
    finally:
        with contextlib.suppress(OSError):
            (folder / NAME).unlink()  # before unlocking: only the holder of the lock removes the file
        os.close(handle)


def _hold(folder: Path) -> int:
    """Open and lock the lock file, and return its descriptor.

    Between open and lock, the previous batch may have ended and unlinked the file. The lock would be on a file that no
    other batch can find, so it counts only if the name still refers to the same file.
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
                raise OutputError(
                    folder, f"{by} is writing into it; wait until it ends, or choose another --out"
                ) from None
            return handle  # some network file systems have no locks: better without one than not at all
        with contextlib.suppress(OSError):
            if os.path.samestat(os.fstat(handle), os.lstat(folder / NAME)):
                return handle
        os.close(handle)


def not_writable(folder: Path, fault: OSError) -> OutputError:
    """The exception for a folder that can't be written."""
    return OutputError(folder, f"no outputs can be written here: {(fault.strerror or str(fault)).lower()}")
