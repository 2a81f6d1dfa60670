"""Stamps of files, which show without reading a file whether it was changed or replaced."""

import os
from dataclasses import dataclass, field
from pathlib import Path


@dataclass(frozen=True)
class Stamp:
    """The size, times and inode of a file. Equal stamps of a path mean the same content, as far as stat can tell.

    A change of mode, owner or links leaves stamps equal; a file that replaced another never does, whatever its time.

    Attributes:
        size: in bytes.
        modified: the modification time in nanoseconds.
        changed: the time of the last change of any kind in nanoseconds, which can't be set.
        node: the inode; it may differ between mounts.
    """

    size: int
    modified: int
    changed: int = field(compare=False)
    node: int = 0

    @classmethod
    def of(cls, path: Path) -> "Stamp | None":
        """The present stamp of a file; None if there is no file, or it can't be reached."""
        try:
            return stamp(path)
        except OSError:
            return None

    def untouched(self, since: "Stamp") -> bool:
        """Whether the file was not touched at all since a stamp, from any mount; stricter than equality.

        False also after a chmod, and after a copy that restored the modification time; then only reading the content
        can tell whether it changed.
        """
        return (self.size, self.modified, self.changed) == (since.size, since.modified, since.changed)


def stamp(path: Path) -> Stamp:
    """The present stamp of a file.

    Raises:
        OSError: there is no file, or it can't be reached.

    Example:
        stamp(Path("quay_02.tif")) == before
    """
    found = os.stat(path)
    return Stamp(found.st_size, found.st_mtime_ns, found.st_ctime_ns, found.st_ino)
