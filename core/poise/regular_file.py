"""Opens regular files only: never waits for a pipe, never reads a device."""

import errno
import os
import stat


def open_regular_file(path: str | os.PathLike[str], flags: int = os.O_RDONLY, mode: int = 0o666) -> int:
    """Open a regular file and return its descriptor; for use as the `opener` of `open`.

    Raises:
        OSError: as `os.open`; EINVAL for a pipe, a device or a folder.

    Example:
        with open(path, "rb", opener=open_regular_file) as file: ...
    """
    handle = os.open(path, flags | os.O_NONBLOCK | os.O_CLOEXEC, mode)
    if not stat.S_ISREG(os.fstat(handle).st_mode):
        os.close(handle)
        raise OSError(errno.EINVAL, "not a regular file", os.fspath(path))
    return handle


def open_without_links(path: str | os.PathLike[str], flags: int = os.O_RDONLY) -> int:
    """The same, but refuses a symbolic link.

    Raises:
        OSError: as `open_regular_file`; ELOOP for a link.
    """
    return open_regular_file(path, flags | os.O_NOFOLLOW)
