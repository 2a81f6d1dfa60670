"""Atomic writing: a file is written under a temporary name, then moved onto its target; finds orphaned ones."""

import errno
import os
import re
import stat
import zlib
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

_NAME = re.compile(r"\.(?P<target>.+?)(?:\.(?P<host>h[0-9a-f]{8}))?\.(?P<process>\d+)\.poise-tmp")


LONGEST = 220
"""The most bytes of a name before a suffix: file systems allow 255, and the longest suffix has 31."""


def temporary_path(path: Path) -> Path:
    """The hidden temporary path of this process for a target, in the same folder.

    Example:
        >>> temporary_path(Path("day/quay_02.tif")).name.startswith(".quay_02.tif.")
        True
    """
    return path.parent / f".{shortened(path.name)}.{_host()}.{os.getpid()}.poise-tmp"


def shortened(name: str) -> str:
    """A name that leaves room for a suffix; a long one is cut, and a checksum keeps it unique.

    Example:
        >>> shortened("quay_02.tif"), len(shortened(250 * "a"))
        ('quay_02.tif', 220)
    """
    content = os.fsencode(name)
    if len(content) <= LONGEST:
        return name
    mark = f"~{zlib.crc32(content):08x}"
    while len(os.fsencode(name)) > LONGEST - len(mark):
        name = name[:-1]
    return name + mark


@contextmanager
def atomic_replace(path: Path) -> Iterator[Path]:
    """Replace a file atomically: yields an empty temporary file, which is moved onto the target at the end.

    If anything fails, the temporary file is deleted and the target stays as it was. A link in place of the temporary
    file is never followed.

    Raises:
        OSError: the temporary file can't be created, or moved onto the target.

    Example:
        with atomic_replace(Path("quay_02.tif")) as temporary:
            temporary.write_bytes(content)
    """
    temporary = temporary_path(path)
    with suppress(OSError):
        temporary.unlink()  # a leftover of an earlier process with this number, or a link
    os.close(os.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_CLOEXEC, 0o666))
    try:
        yield temporary
        if not stat.S_ISREG(os.lstat(temporary).st_mode):
            raise OSError(errno.EPERM, "something else was put in the place of the file while it was written")
        os.replace(temporary, path)
    finally:
        with suppress(OSError):
            temporary.unlink()


def orphan(name: str) -> str | None:
    """The shortened name of the target of a temporary file whose process has ended; None for any other name.

    Temporary files of other machines that share the folder are left to them.
    """
    found = _NAME.fullmatch(name)
    if found is None or found["host"] not in (None, _host()) or _alive(int(found["process"])):
        return None
    return found["target"]


def _host() -> str:
    """This machine, in a few characters that every file system allows."""
    return f"h{zlib.crc32(os.fsencode(os.uname().nodename)):08x}"


def _alive(process: int) -> bool:
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except (OSError, OverflowError):
        return True
    return not _unreaped(process)


def _unreaped(process: int) -> bool:
    """Whether a process has ended, and its parent has not noticed (state Z of proc(5)); False without /proc."""
    with suppress(OSError):
        return Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()[0] == "Z"
    return False
