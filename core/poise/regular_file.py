"""Opening files that others may have laid: a pipe is never waited for, a device never read."""

import errno
import os
import stat


def open_regular_file(path: str | os.PathLike[str], flags: int = os.O_RDONLY, mode: int = 0o666) -> int:
    """A descriptor of a plain file; also an `opener` for `open`.

    Raises:
        OSError: as `os.open`; EINVAL when it is a pipe, a device or a folder.

    Example:
        with open(path, "rb", opener=plain) as file: ...
    """
    handle = os.open(path, flags | os.O_NONBLOCK | os.O_CLOEXEC, mode)
    if not stat.S_ISREG(os.fstat(handle).st_mode):
        os.close(handle)
        raise OSError(errno.EINVAL, "not a plain file", os.fspath(path))
    return handle


def open_without_links(path: str | os.PathLike[str], flags: int = os.O_RDONLY) -> int:
    """The same, and never through a link in the last place of the path.

    Raises:
        OSError: as `open_regular_file`; ELOOP when it is a link.
    """
    return open_regular_file(path, flags | os.O_NOFOLLOW)
