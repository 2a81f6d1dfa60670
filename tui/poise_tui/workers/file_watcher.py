"""Whether somebody else changed the picture or the sidecar in hand, as a far disk tells it: in a thread."""

from dataclasses import dataclass
from pathlib import Path

from poise.frames import Shot
from poise.stamp import Stamp
from poise_tui.session.answers import SidecarRead, read_sidecar


@dataclass(frozen=True)
class FileState:
    """The files of a shot as they are now.

    Attributes:
        picture: None where it is gone.
        known: the stamp of the sidecar that it was held against.
        sidecar: read anew, where it has another stamp; None where it has not.
    """

    index: int
    file: Path
    picture: Stamp | None
    known: Stamp | None
    sidecar: SidecarRead | None


def look(index: int, file: Path, shot: Shot, known: Stamp | None) -> FileState:
    """Looks at both files.

    Args:
        known: the stamp of the sidecar as it was last read or saved; None where there was none.
    """
    same = Stamp.of(shot.sidecar_path) == known
    return FileState(index, file, Stamp.of(file), known, None if same else read_sidecar(index, shot))
