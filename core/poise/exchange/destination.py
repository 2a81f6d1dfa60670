"""The folder of an export: files are written atomically, and files of someone else are kept."""

import os
from pathlib import Path, PurePath

from poise.atomic import atomic_replace
from poise.errors import OutputError
from poise.exchange.seal import unchanged
from poise.regular_file import open_without_links

LARGEST = 64 * 2**20
"""Bytes of an existing file that are read to see who wrote it."""


class Destination:
    """A folder, and the files written to it in one run.

    Attributes:
        written: files that are new, or replaced a file.
        kept: files that already had the same content.

    Example:
        into = Destination(Path("handover"))
        into.put(Path("day/quay_02.cc"), sealed(content))
    """

    def __init__(self, folder: Path, again: bool = False, dry_run: bool = False) -> None:
        """Args:
        again: also replace files that someone else wrote or changed.
        dry_run: check everything, and write nothing.
        """
        self.folder = folder
        self.again = again
        self.dry_run = dry_run
        self.written: list[Path] = []
        self.kept: list[Path] = []
        self._taken: set[str] = set()

    def put(self, relative: PurePath, content: bytes) -> Path:
        """Write one file and its parent folders; returns its path.

        Args:
            relative: its path below the folder.
            content: sealed, so that later runs recognise it.

        Raises:
            OutputError: the file exists and is not as poise wrote it, was already written in this run, would leave the
                folder through a link, or can't be written.
        """
        path = self.folder / relative
        real = os.path.join(os.path.realpath(path.parent), path.name)
        folder = os.path.realpath(self.folder)
        if os.path.commonpath([real, folder]) != folder:
            raise OutputError(path, "it would leave the folder through a link; remove the link")
        if real in self._taken:
            raise OutputError(path, "two shots would be written there; export their folders separately")
        self._taken.add(real)
        try:
            present = _present(path)
            if present == content:
                self.kept.append(path)
                return path
            if present is not None and not self.again and not unchanged(present):
                raise OutputError(path, "it exists, and is not as poise wrote it; move it, or replace it with --again")
            if not self.dry_run:
                path.parent.mkdir(parents=True, exist_ok=True)
                _write(path, content)
        except OSError as fault:
            raise OutputError(path, f"can't be written: {fault.strerror or fault}") from None
        self.written.append(path)
        return path


def _present(path: Path) -> bytes | None:
    """The content of an existing file, None if there is none; empty if it is a link or can't be read."""
    if not os.path.lexists(path):
        return None
    if path.is_dir() and not path.is_symlink():
        raise OutputError(path, "there is a folder of this name; move it")
    try:
        with open(path, "rb", opener=open_without_links) as file:
            return file.read(LARGEST)
    except OSError:
        return b""


def _write(path: Path, content: bytes) -> None:
    with atomic_replace(path) as temporary, temporary.open("wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
