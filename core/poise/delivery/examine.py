"""Corrects one frame as it would be delivered, at full resolution, and measures everything that limits concern."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np
from msgspec.structs import replace

from poise.chain.order import is_neutral
from poise.correction.model import NEUTRAL, Correction, Encoding, Range, default_encoding
from poise.delivery.clipping import ClippingLoss, black_and_white
from poise.delivery.limits import Limits
from poise.delivery.signal_range import Ends, ends, outside
from poise.engine import Engine, compile_engine
from poise.engine.strips import ahead
from poise.frames.frame import Depth, Frame, Pixels
from poise.frames.tags import Tags
from poise.scopes import Readings, measure, measure_parts
from poise.scopes.clipping import count_clipped
from poise.scopes.signal import strips


@dataclass(frozen=True)
class ExaminedFrame:
    """The measurement of a delivered picture.

    Attributes:
        width, height, channels: of the picture; alpha is a channel.
        encoding: the encoding of its codes.
        range_unknown: whether nothing tells the range of its codes, and the limits want another than its format has.
        readings: in work code.
        within: the ends of the allowed range; None if the limits have none.
        outside: pixels outside those ends, in per cent.
        loss: pixels that the correction crushed and clipped.
    """

    width: int
    height: int
    channels: int
    depth: Depth
    encoding: Encoding
    range_unknown: bool
    readings: Readings
    within: Ends | None
    outside: float
    loss: ClippingLoss


def encoding_to_check(
    encoding: Encoding | None,
    correction: Correction,
    linear: bool,
    depth: Depth,
    range: Range | None = None,
    tags: Tags | None = None,
) -> Encoding:
    """The encoding to check a picture under: its own, or its format's with the range that is known of its codes.

    Args:
        encoding: that of its sidecar; None if it names none.
        linear: whether the file's format holds linear light.
        range: what is known of a file that nothing was decided about; None if nothing is.
        tags: the encoding that its header names; None if it names none.

    Example:
        >>> encoding_to_check(None, NEUTRAL, False, Depth.U10, "narrow").range
        'narrow'
    """
    if encoding is not None:
        return encoding
    default = default_encoding(linear, tags)
    if correction == NEUTRAL and range and not depth.is_float:
        return replace(default, range=range)
    return default


def examine(
    frame: Frame, correction: Correction, encoding: Encoding | None, limits: Limits, range: Range | None = None
) -> ExaminedFrame:
    """Correct a frame as `apply` would, and measure what limits concern.

    Args:
        encoding: that of its sidecar; None if it names none.
        range: what is known of the codes of a file that nothing was decided about; None if nothing is.

    Raises:
        PoiseError: the correction or the encoding can't be applied to this picture.

    Example:
        examine(read("quay_02.tif"), sidecar.correction, sidecar.encoding, load("baseline"))
    """
    named = encoding_to_check(encoding, correction, frame.linear, frame.depth, range, frame.tags)
    undecided = encoding is None and correction == NEUTRAL and range is None and frame.tags is None
    lowest, highest = limits["lowest"], limits["highest"]
    within = ends(lowest.value, highest.value, named.range, frame.depth) if lowest and highest else None
    work = compile_engine(correction, named, frame.depth, output="work")
    # in full range, work code equals delivery code; levels of float files are checked in work code
    same = work.out_depth.is_float == frame.depth.is_float and (named.work == named.delivery or frame.depth.is_float)
    delivery = work if same else compile_engine(correction, named, frame.depth)
    tally = _Tally(frame, named, within, delivery, not is_neutral(correction, named))
    whole = work.out_depth.is_float or work.keyed is not None
    parts = tally.through([frame.colour] if whole else strips(frame.colour), work)
    scale, primaries = frame.depth.maximum, named.work_primaries
    readings = measure(next(parts), scale, primaries) if whole else measure_parts(ahead(parts), scale, primaries)
    return ExaminedFrame(
        frame.width,
        frame.height,
        frame.channels,
        frame.depth,
        named,
        undecided and limits.range not in (None, named.range) and not frame.depth.is_float,
        readings,
        within,
        tally.share(tally.outside),
        ClippingLoss(tally.share(tally.crushed), tally.share(tally.clipped)),
    )


class _Tally:
    """Counts pixels outside the range, crushed and clipped, part by part."""

    def __init__(self, frame: Frame, encoding: Encoding, within: Ends | None, delivery: Engine, changes: bool) -> None:
        self.outside = self.crushed = self.clipped = 0
        self._within, self._delivery, self._changes = within, delivery, changes
        self._ends = black_and_white(encoding.range, frame.depth)
        self._pixels = 0

    def through(self, parts: Iterable[Pixels], work: Engine) -> Iterator[Pixels]:
        """Yield the parts in work code, counting each."""
        for source in parts:
            corrected = work.apply(source)
            delivered = corrected if work is self._delivery else self._delivery.apply(source)
            self._pixels += _finite(source)
            for was, now in zip(strips(source), strips(delivered), strict=True):  # small enough for the cache
                self._count(was, now)
            yield corrected

    def _count(self, source: Pixels, delivered: Pixels) -> None:
        if self._within is not None:
            self.outside += outside(delivered, self._within)
        if self._changes:
            crushed, clipped = count_clipped(source, delivered, self._ends, self._ends)
            self.crushed, self.clipped = self.crushed + crushed, self.clipped + clipped

    def share(self, count: int) -> float:
        """A count in per cent of the finite pixels."""
        return 100 * count / self._pixels if self._pixels else 0.0


def _finite(picture: Pixels) -> int:
    """The number of pixels without NaN or infinity."""
    return int(np.isfinite(picture).all(axis=2).sum()) if picture.dtype.kind == "f" else picture[..., 0].size
