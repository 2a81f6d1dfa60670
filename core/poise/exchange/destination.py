"""The folder that files for others are written to: whole or not at all, and nothing that is someone else's is lost."""

import os
from pathlib import Path, PurePath

from poise.atomic import atomic_replace
from poise.errors import OutputError
from poise.exchange.seal import unchanged
from poise.regular_file import open_without_links

LARGEST = 64 * 2**20
"""Bytes of a file that is looked at to see whose it is."""


class Destination:
    """A folder and what was put into it in one run.

    Attributes:
        written: files that are new, or replaced what poise had written there.
        kept: files that held the very same already.

    Example:
        into = Destination(Path("handover"))
        into.put(Path("day/quay_02.cc"), sealed(content))
    """

    def __init__(self, folder: Path, again: bool = False, dry_run: bool = False) -> None:
        """Args:
        again: replace files that someone else wrote, or changed, too.
        dry_run: check everything, and write nothing.
        """
        self.folder = folder
        self.again = again
        self.dry_run = dry_run
        self.written: list[Path] = []
        self.kept: list[Path] = []
        self._taken: set[str] = set()

    def put(self, relative: PurePath, content: bytes) -> Path:
        """Writes one file, and returns where it stands; the folders above it are made.

        Args:
            relative: its place below the folder.
            content: sealed, so that the next run knows it again.

        Raises:
            OutputError: it stands there already and isn't as poise wrote it, was put there before in this run, lies
                behind a link that leads out of the folder, or can't be written.
        """
        path = self.folder / relative
        real = os.path.join(os.path.realpath(path.parent), path.name)
        folder = os.path.realpath(self.folder)
        if os.path.commonpath([real, folder]) != folder:
            raise OutputError(path, "it would leave the folder through a link; take the link away")
        if real in self._taken:
            raise OutputError(path, "two shots would be written there; export their folders one by one")
        self._taken.add(real)
        try:
            present = _present(path)
            if present == content:
                self.kept.append(path)
                return path
            if present is not None and not self.again and not unchanged(present):
                raise OutputError(path, "there already, and not as poise wrote it; move it, or replace it with --again")
            if not self.dry_run:
                path.parent.mkdir(parents=True, exist_ok=True)
                _write(path, content)
        except OSError as fault:
            raise OutputError(path, f"can't be written: {fault.strerror or fault}") from None
        self.written.append(path)
        return path


def _present(path: Path) -> bytes | None:
    """What stands there, None for nothing; of a link, a pipe or a file too large to be ours only that it is there."""
    if not os.path.lexists(path):
        return None
    if path.is_dir() and not path.is_symlink():
        raise OutputError(path, "a folder stands there; move it away")
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
