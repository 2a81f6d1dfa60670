"""Reading a shot's sidecar and the header of its picture for a session; safe in any thread."""

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
    """Runs a question that reads the disk and returns its answer, or None if the answer comes later."""

    def __call__(self, key: Hashable, question: Callable[[], T]) -> T | None: ...


def at_once(key: Hashable, question: Callable[[], T]) -> T | None:
    """Runs the question and waits for the disk."""
    return question()


@dataclass(frozen=True)
class SidecarRead:
    """A sidecar that was read, or why it can't be.

    Attributes:
        stamp: of the file just before reading; None if there is no file.
    """

    index: int
    path: Path
    stamp: Stamp | None
    found: Sidecar | None = None
    fault: SidecarError | None = None


@dataclass(frozen=True)
class HeaderRead:
    """The header of a picture; `picture` is None if it can't be read."""

    index: int
    file: Path
    picture: Picture | None


def read_sidecar(index: int, shot: Shot) -> SidecarRead:
    """Reads a shot's sidecar; never raises, since a fault is part of the answer."""
    path = shot.sidecar_path
    stamp = Stamp.of(path)
    try:
        return SidecarRead(index, path, stamp, load_or_none(shot))
    except SidecarError as fault:
        return SidecarRead(index, path, stamp, fault=fault)
    except Exception as fault:  # any other fault must cost this shot only
        return SidecarRead(index, path, stamp, fault=SidecarError(path, why_not(path, fault)))


def read_header(index: int, file: Path) -> HeaderRead:
    """Reads the header of a picture."""
    try:
        header = probe(file)
    except FileError:
        return HeaderRead(index, file, None)
    about = (header.width, header.height, header.linear, header.channels < 3, header.tags)
    return HeaderRead(index, file, Picture(*about))
