"""A sample: some thousand pixels of a picture, enough to measure its levels; and what was measured on it."""

from dataclasses import dataclass, field, replace
from math import isqrt
from pathlib import Path

import numpy as np

from poise.chain.source import resolve_source
from poise.correction import NEUTRAL, Correction, Encoding, Light, default_encoding
from poise.delivery.clipping import NO_LOSS, ClippingLoss
from poise.errors import in_words
from poise.frames import Depth
from poise.frames.frame import Pixels
from poise.frames.tags import Tags
from poise.scopes import BeforeAfter, Readings, measure
from poise.scopes.reel import FIGURES, Figures, figures
from poise.sidecar.decision import Decision
from poise.stamp import Stamp
from poise_tui.measure.correct import corrected, loss
from poise_tui.measure.loaded import Loaded
from poise_tui.session.shot_state import Picture

BYTES = 48_000
"""Size of one sample: 8,000 pixels of 16 bits in three channels; fewer are hardly quicker."""


@dataclass(frozen=True, eq=False)
class Sample:
    """The pixels kept of a picture to measure it under any correction, or why it can't be read.

    Attributes:
        stamp: of the file when it was read.
        pixels: (height, width, 1 or 3) evenly sampled, in codes of `depth`; None if it can't be read.
        stored: the depth of the file.
        width, height: of the picture.
        linear: whether its values are linear light by the file's convention.
        tags: the encoding that its header names; None if it names none.
    """

    file: Path
    stamp: Stamp | None
    pixels: Pixels | None
    depth: Depth
    width: int
    height: int
    linear: bool
    fault: str | None = None
    stored: Depth = Depth.U8
    tags: Tags | None = None

    @property
    def picture(self) -> Picture | None:
        """What a `ShotState` keeps of it; None if it can't be read."""
        if self.pixels is None:
            return None
        return Picture(self.width, self.height, self.linear, self.pixels.shape[2] < 3, self.tags)

    def measured(self, correction: Correction, encoding: Encoding) -> tuple[Readings, ClippingLoss]:
        """Its readings under a correction, and what that crushes and clips.

        Raises:
            PoiseError: the correction or the encoding can't be applied to this picture.
        """
        assert self.pixels is not None
        made = corrected(self.pixels, self.depth, correction, encoding)
        lost = loss(self.pixels, self.depth, made, correction, encoding)
        return measure(made.levels(), None, made.primaries), lost


def sample(loaded: Loaded, most: int = BYTES) -> Sample:
    """The sample of a picture that was read.

    Args:
        most: the most bytes of its pixels.
    """
    pixels, depth = loaded.small, loaded.depth
    if pixels is not None:
        height, width, channels = pixels.shape
        fit = max(most // (channels * min(pixels.itemsize, 2)), 1)
        step = isqrt(max(height * width - 1, 0) // fit) + 1
        while -(-height // step) * -(-width // step) > fit:
            step += 1
        pixels = np.ascontiguousarray(pixels[::step, ::step])
        if depth in (Depth.U14, Depth.U16):
            pixels, depth = pixels >> depth.bits - 12, Depth.U12  # quicker to correct, and fine enough
        elif depth is Depth.FLOAT:
            with np.errstate(over="ignore"):
                pixels, depth = pixels.astype(np.float16), Depth.HALF
    about = (loaded.width, loaded.height, loaded.linear, loaded.fault, loaded.depth, loaded.tags)
    return Sample(loaded.file, loaded.stamp, pixels, depth, *about)


@dataclass(frozen=True, eq=False)
class Known:
    """What is known of one shot.

    Attributes:
        decision: the one that was measured; None until it is.
        readings: the readings before and after the correction.
        loss: what the correction crushes and clips.
        rows: (2, FIGURES) the figures before and after; NaN until they are measured.
        fault: why it can't be read or corrected.
    """

    sample: Sample
    decision: Decision | None = None
    readings: BeforeAfter | None = None
    rows: Figures = field(default_factory=lambda: np.full((2, len(FIGURES)), np.nan))
    fault: str | None = None
    loss: ClippingLoss = NO_LOSS

    @property
    def settled(self) -> bool:
        """Whether it was measured, or can't be."""
        return self.readings is not None or self.fault is not None

    def encoding(self, decision: Decision) -> Encoding:
        """The encoding under a decision."""
        sample = self.sample
        return resolve_source(decision.encoding or default_encoding(sample.linear, sample.tags), sample.file.parent)

    def lit(self, decision: Decision) -> bool:
        """Whether a decision is measured in linear light, which first has to import colour-science for a second."""
        return decision.correction.light != Light() or self.encoding(decision).converts

    def under(self, decision: Decision) -> "Known":
        """Measures the sample under another decision."""
        last, encoding = self.decision, self.encoding(decision)
        there = self.readings if last and self.encoding(last) == encoding else None
        if there and last and last.corrects_as(decision):
            return replace(self, decision=decision)
        try:
            before = there.before if there else self.sample.measured(NEUTRAL, encoding)[0]
            after, lost = before, NO_LOSS
            if decision.correction != NEUTRAL:
                after, lost = self.sample.measured(decision.correction, encoding)
        except Exception as fault:  # shown in the shot's column
            return Known(self.sample, decision, fault=in_words(fault))
        rows = np.stack([figures(before), figures(after)])
        return Known(self.sample, decision, BeforeAfter(before, after), rows, loss=lost)
