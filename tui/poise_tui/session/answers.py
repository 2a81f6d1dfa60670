"""What a session asks the disk about a shot: its sidecar and the header of its picture; any thread may ask."""

from collections.abc import Callable, Hashable
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol, TypeVar

from poise.errors import FileError, SidecarError, why_not
from poise.frames import Shot, probe
from poise.sidecar import Sidecar, load_or_none
from poise.stamp import Stamp
from poise_tui.session.shot_state import Picture

T = TypeVar("T")


class Ask(Protocol):
    """Puts a question to the disk; None where the answer comes later."""

    def __call__(self, key: Hashable, question: Callable[[], T]) -> T | None: ...


def at_once(key: Hashable, question: Callable[[], T]) -> T | None:
    """Asks the disk and waits for it."""
    return question()


@dataclass(frozen=True)
class SidecarRead:
    """A sidecar as it was read, or why it could not be.

    Attributes:
        stamp: of the file just before; None where there is none.
    """

    index: int
    path: Path
    stamp: Stamp | None
    found: Sidecar | None = None
    fault: SidecarError | None = None


@dataclass(frozen=True)
class HeaderRead:
    """What the header of a picture tells; None where it can't be read."""

    index: int
    file: Path
    picture: Picture | None


def read_sidecar(index: int, shot: Shot) -> SidecarRead:
    """Reads a shot's sidecar; every fault becomes part of the answer."""
    path = shot.sidecar_path
    stamp = Stamp.of(path)
    try:
        return SidecarRead(index, path, stamp, load_or_none(shot))
    except SidecarError as fault:
        return SidecarRead(index, path, stamp, fault=fault)
    except Exception as fault:  # whatever it is, it costs this shot only
        return SidecarRead(index, path, stamp, fault=SidecarError(path, why_not(path, fault)))


def read_header(index: int, file: Path) -> HeaderRead:
    """Asks the header of a picture."""
    try:
        header = probe(file)
    except FileError:
        return HeaderRead(index, file, None)
    return HeaderRead(index, file, Picture(header.width, header.height, header.linear, header.channels < 3))
