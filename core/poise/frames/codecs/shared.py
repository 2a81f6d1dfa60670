"""Shared by all codecs: the summary of a header, and its check."""

from dataclasses import dataclass
from pathlib import Path

from poise.errors import FrameError
from poise.frames import limits
from poise.frames.frame import Depth
from poise.frames.tags import Tags


@dataclass(frozen=True)
class Probe:
    """The summary of a picture's header.

    Attributes:
        width, height: in pixels, of the stored picture (the data window of an OpenEXR file).
        depth: how a value is stored.
        channels: 1 grey, 2 grey and alpha, 3 RGB, 4 RGB and alpha.
        linear: whether values are linear light by the convention of the format.
        format: a name in `poise.frames.codecs.FORMATS`.
        tags: the encoding that the header names; None if it names none.
    """

    width: int
    height: int
    depth: Depth
    channels: int
    linear: bool
    format: str
    tags: Tags | None = None


def checked(path: Path, probe: Probe) -> Probe:
    """The same summary, after checking its size.

    Raises:
        FrameError: as `limits.possible`.
    """
    limits.possible(path, probe.width, probe.height, probe.channels * probe.depth.dtype.itemsize)
    return probe


def cut_short(path: Path) -> FrameError:
    """The error for a file that ends before its picture."""
    return FrameError(path, "the file is cut short; copy it again")
