"""What all codecs share: the summary of a header, and the refusal of headers that can't be true."""

from dataclasses import dataclass
from pathlib import Path

from poise.errors import FrameError
from poise.frames import limits
from poise.frames.frame import Depth


@dataclass(frozen=True)
class Probe:
    """What a picture's header says.

    Attributes:
        width: in pixels, the stored picture (the data window of an OpenEXR file).
        height: in pixels.
        depth: how one value is stored.
        channels: 1 grey, 2 grey and alpha, 3 RGB, 4 RGB and alpha.
        linear: whether values are linear light by the format's convention.
        format: a name in `poise.frames.codecs.FORMATS`.
    """

    width: int
    height: int
    depth: Depth
    channels: int
    linear: bool
    format: str


def checked(path: Path, probe: Probe) -> Probe:
    """The same summary, once its size is possible.

    Raises:
        FrameError: as `limits.possible`.
    """
    limits.possible(path, probe.width, probe.height, probe.channels * probe.depth.dtype.itemsize)
    return probe


def cut_short(path: Path) -> FrameError:
    """The error for a file that ends before its picture does."""
    return FrameError(path, "the file is cut short; copy it again")
