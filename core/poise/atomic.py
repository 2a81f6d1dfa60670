"""Files are written under another name and then moved onto their target; how such a name is known again."""

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
"""Bytes of a name to which a suffix is added: file systems take 255, and the longest suffix has 31."""


def temporary_path(path: Path) -> Path:
    """The hidden temporary name of this process for a target, in the target's own folder.

    Example:
        >>> temporary_path(Path("day/quay_02.tif")).name.startswith(".quay_02.tif.")
        True
    """
    return path.parent / f".{shortened(path.name)}.{_host()}.{os.getpid()}.poise-tmp"


def shortened(name: str) -> str:
    """A name that leaves room for a suffix; a long one loses its end, and a checksum keeps it apart from others.

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
    """A temporary file for a target: moved onto it at the end, gone if anything fails, so the target is old or new.

    It is there and empty at first, and nothing that was laid in its place is written through.

    Raises:
        OSError: it can't be made, or moved onto the target.

    Example:
        with atomic_replace(Path("quay_02.tif")) as temporary:
            temporary.write_bytes(content)
    """
    temporary = temporary_path(path)
    with suppress(OSError):
        temporary.unlink()  # what lies there is nobody's, and may be a link
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
    """The target of a temporary file whose process is gone, shortened; None for any other name.

    Of one that another machine writes into a shared folder nothing is known: it is left to that machine.
    """
    found = _NAME.fullmatch(name)
    if found is None or found["host"] not in (None, _host()) or _alive(int(found["process"])):
        return None
    return found["target"]


def _host() -> str:
    """This machine in a few characters that every file system takes."""
    return f"h{zlib.crc32(os.fsencode(os.uname().nodename)):08x}"


def _alive(process: int) -> bool:
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except (OSError, OverflowError):
        return True
    return True
