"""What all codecs share: the summary of a header, and the refusal of headers that can't be true."""

from dataclasses import dataclass
from pathlib import Path

from poise.errors import FrameError
from poise.frames.frame import Depth

MOST_PIXELS = 10**9
"""A header that claims more is refused before any memory is asked for."""


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
        FrameError: no pixels at all, or more than `MOST_PIXELS`.
    """
    if probe.width < 1 or probe.height < 1:
        raise FrameError(path, f"its header says {probe.width} x {probe.height} pixels; it is damaged, copy it again")
    if probe.width * probe.height > MOST_PIXELS:
        raise FrameError(
            path, f"its header says {probe.width} x {probe.height} pixels, over the limit of {MOST_PIXELS:,}; check it"
        )
    return probe


def cut_short(path: Path) -> FrameError:
    """The error for a file that ends before its picture does."""
    return FrameError(path, "the file is cut short; copy it again")
