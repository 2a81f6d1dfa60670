"""Files are written under another name and then moved onto their target; how such a name is known again."""

import errno
import os
import re
import stat
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

_NAME = re.compile(r"\.(?P<target>.+)\.(?P<process>\d+)\.poise-tmp")


def temporary_path(path: Path) -> Path:
    """The hidden temporary name of this process for a target, in the target's own folder.

    Example:
        >>> beside(Path("day/quay_02.tif")).name.startswith(".quay_02.tif.")
        True
    """
    return path.parent / f".{path.name}.{os.getpid()}.poise-tmp"


@contextmanager
def atomic_replace(path: Path) -> Iterator[Path]:
    """A temporary file for a target: moved onto it at the end, gone if anything fails, so the target is old or new.

    It is there and empty at first, and nothing that was laid in its place is written through.

    Raises:
        OSError: it can't be made, or moved onto the target.

    Example:
        with replacing(Path("quay_02.tif")) as temporary:
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
    """The target of a temporary file whose process is gone; None for any other name."""
    found = _NAME.fullmatch(name)
    return found["target"] if found and not _alive(int(found["process"])) else None


def _alive(process: int) -> bool:
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except (OSError, OverflowError):
        return True
    return True
