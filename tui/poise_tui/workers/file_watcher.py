"""Checking in a thread whether somebody else changed the current picture or its sidecar."""

from dataclasses import dataclass
from pathlib import Path

from poise.frames import Shot
from poise.stamp import Stamp
from poise_tui.session.answers import SidecarRead, read_sidecar


@dataclass(frozen=True)
class FileState:
    """The files of a shot as they are now.

    Attributes:
        picture: the stamp of the picture; None if it is gone.
        known: the stamp of the sidecar that the new one was compared with.
        sidecar: read again if its stamp differs; None if not.
    """

    index: int
    file: Path
    picture: Stamp | None
    known: Stamp | None
    sidecar: SidecarRead | None


def look(index: int, file: Path, shot: Shot, known: Stamp | None) -> FileState:
    """Checks both files.

    Args:
        known: the stamp of the sidecar as last read or saved; None if there was none.
    """
    same = Stamp.of(shot.sidecar_path) == known
    return FileState(index, file, Stamp.of(file), known, None if same else read_sidecar(index, shot))
