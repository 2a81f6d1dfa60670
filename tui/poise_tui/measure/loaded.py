"""A picture that was read: its proxy and the sample that answers nudges, or why it can't be read."""

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from poise.frames import Depth, Frame
from poise.frames.frame import Pixels
from poise.frames.proxy import sample_step
from poise.frames.tags import Tags
from poise.frames.timing import UNTIMED, Timing
from poise.stamp import Stamp

WIDTH, HEIGHT = 960, 540


@dataclass(frozen=True, eq=False)
class Loaded:
    """A picture ready to be balanced, or the reason why it is not; compared by identity.

    Attributes:
        small: (height, width, 1 or 3) its proxy, in codes of `depth`; None if it can't be read.
        step: the sample takes every `step`-th pixel of the proxy, across and down.
        sample: the sampled proxy, in codes of `sample_depth`, which nudges are answered from. 14 and 16 bits are
            cut to 12: no scope in characters shows the difference, and the tables are made more quickly.
        fault: why it can't be read, in one line; None if it was read.
        tags: the encoding that its header names; None if it names none.
        timing: its place in time by its header.
    """

    file: Path
    stamp: Stamp | None
    small: Pixels | None = None
    depth: Depth = Depth.U8
    width: int = 0
    height: int = 0
    linear: bool = False
    step: int = 1
    sample: Pixels | None = None
    sample_depth: Depth = Depth.U8
    fault: str | None = None
    tags: Tags | None = None
    timing: Timing = UNTIMED

    @property
    def grey(self) -> bool:
        return self.small is not None and self.small.shape[2] == 1

    def pixels(self, rough: bool) -> tuple[Pixels, Depth]:
        """The sample, or the whole proxy, and its depth; only for a picture that was read."""
        pixels, depth = (self.sample, self.sample_depth) if rough else (self.small, self.depth)
        assert pixels is not None
        return pixels, depth

    @property
    def bytes(self) -> int:
        held = (self.small, self.sample)
        return sum(int(pixels.nbytes) for pixels in held if pixels is not None)


def loaded(file: Path, stamp: Stamp | None, frame: Frame, small: Pixels) -> Loaded:
    """A frame that was read, with its proxy and the sample of it."""
    step = sample_step(small.shape[0])
    sample, depth = np.ascontiguousarray(small[::step, ::step]), frame.depth
    if depth in (Depth.U14, Depth.U16):
        sample, depth = sample >> depth.bits - 12, Depth.U12
    about = (frame.depth, frame.width, frame.height, frame.linear, step)
    return Loaded(file, stamp, small, *about, sample, depth, tags=frame.tags, timing=frame.timing)
