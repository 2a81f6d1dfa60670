"""Stamps: what the file system says of a file, to see without reading it whether it was touched or replaced."""

import os
from dataclasses import dataclass, field
from pathlib import Path


@dataclass(frozen=True)
class Stamp:
    """Two stamps of a path are equal when it holds the same content, as far as that is seen without reading it.

    Another mode, owner or link to the file is no other content; a file that took its place is, whatever its time.

    Attributes:
        size: in bytes.
        modified: nanoseconds; of the content.
        node: the number that a file keeps while it lives on its file system; other mounts may count otherwise.
        changed: nanoseconds; of anything, which nobody can set back.
    """

    size: int
    modified: int
    changed: int = field(compare=False)
    node: int = 0

    @classmethod
    def of(cls, path: Path) -> "Stamp | None":
        """The stamp of a file as it is now; None if there is none, or none can be reached."""
        try:
            return stamp(path)
        except OSError:
            return None

    def untouched(self, since: "Stamp") -> bool:
        """Whether nobody touched the file at all since a stamp, which is more than that they are equal.

        A copy that puts the time of the content back is seen by this, from every mount; a chmod is seen as well, so
        that where this is false, only the content can tell.
        """
        return (self.size, self.modified, self.changed) == (since.size, since.modified, since.changed)


def stamp(path: Path) -> Stamp:
    """The stamp of a file as it is now.

    Raises:
        OSError: there is none, or it can't be reached.

    Example:
        stamp(Path("quay_02.tif")) == before
    """
    found = os.stat(path)
    return Stamp(found.st_size, found.st_mtime_ns, found.st_ctime_ns, found.st_ino)
