"""One frame as it would be delivered: corrected at full resolution, and all read off it that limits are about."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np
from msgspec.structs import replace

from poise.chain.order import is_neutral
from poise.correction.model import NEUTRAL, Correction, Encoding, default_encoding
from poise.delivery.clipping import ClippingLoss, black_and_white
from poise.delivery.limits import Limits
from poise.delivery.signal_range import Ends, ends, outside
from poise.engine import Engine, compile_engine
from poise.frames.frame import Depth, Frame, Pixels
from poise.scopes import Readings, measure, measure_parts
from poise.scopes.lost import count_clipped
from poise.scopes.signal import strips


@dataclass(frozen=True)
class ExaminedFrame:
    """What was found about a delivered picture.

    Attributes:
        width, height, channels: of the picture; alpha is a channel.
        encoding: under which its codes were read.
        taken: whether its range was taken to be that of the limits, since nothing was decided.
        readings: in work code.
        within: the ends of its range; None where the limits name none.
        outside: per cent of the picture beyond them.
        lost: what the correction crushed and clipped.
    """

    width: int
    height: int
    channels: int
    depth: Depth
    encoding: Encoding
    taken: bool
    readings: Readings
    within: Ends | None
    outside: float
    lost: ClippingLoss


def read_as(encoding: Encoding | None, correction: Correction, linear: bool, depth: Depth, limits: Limits) -> Encoding:
    """The encoding under which a picture is looked at: its own, or where nothing was decided, what the limits are for.

    Args:
        encoding: that of its sidecar; None where it names none.
        linear: whether the file's format holds linear light.

    Example:
        >>> from poise.delivery.limits import load
        >>> read_as(None, NEUTRAL, False, Depth.U10, load("ebu-r103")).range
        'narrow'
    """
    if encoding is not None:
        return encoding
    default = default_encoding(linear)
    if correction == NEUTRAL and limits.range and not depth.is_float:
        return replace(default, range=limits.range)
    return default


def examine(frame: Frame, correction: Correction, encoding: Encoding | None, limits: Limits) -> ExaminedFrame:
    """Correct a frame as `apply` would, and read off it what limits are about.

    Args:
        encoding: that of its sidecar; None where it names none.

    Raises:
        PoiseError: the correction or the encoding can't be applied to this picture.

    Example:
        examine(read("quay_02.tif"), sidecar.correction, sidecar.encoding, load("baseline"))
    """
    named = read_as(encoding, correction, frame.linear, frame.depth, limits)
    lowest, highest = limits["lowest"], limits["highest"]
    within = ends(lowest.value, highest.value, named.range, frame.depth) if lowest and highest else None
    work = compile_engine(correction, named, frame.depth, output="work")
    # coded in full range, work code is the very code that is delivered; levels of float are those of work code
    same = work.out_depth.is_float == frame.depth.is_float and (named.work == named.delivery or frame.depth.is_float)
    delivery = work if same else compile_engine(correction, named, frame.depth)
    tally = _Tally(frame, named, within, delivery, not is_neutral(correction, named))
    whole = work.out_depth.is_float or work.keyed is not None
    parts = tally.through([frame.colour] if whole else strips(frame.colour), work)
    scale, primaries = frame.depth.maximum, named.work_primaries
    readings = measure(next(parts), scale, primaries) if whole else measure_parts(parts, scale, primaries)
    return ExaminedFrame(
        frame.width,
        frame.height,
        frame.channels,
        frame.depth,
        named,
        encoding is None and named.range == "narrow",
        readings,
        within,
        tally.share(tally.outside),
        ClippingLoss(tally.share(tally.crushed), tally.share(tally.clipped)),
    )


class _Tally:
    """Counts what is outside and what was lost while the parts of a picture go by."""

    def __init__(self, frame: Frame, encoding: Encoding, within: Ends | None, delivery: Engine, changes: bool) -> None:
        self.outside = self.crushed = self.clipped = 0
        self._within, self._delivery, self._changes = within, delivery, changes
        self._ends = black_and_white(encoding.range, frame.depth)
        self._pixels = 0

    def through(self, parts: Iterable[Pixels], work: Engine) -> Iterator[Pixels]:
        """The parts in work code, each counted on its way."""
        for source in parts:
            made = work.apply(source)
            delivered = made if work is self._delivery else self._delivery.apply(source)
            self._pixels += _numbers(source)
            for was, now in zip(strips(source), strips(delivered), strict=True):  # small enough for the cache
                self._count(was, now)
            yield made

    def _count(self, source: Pixels, delivered: Pixels) -> None:
        if self._within is not None:
            self.outside += outside(delivered, self._within)
        if self._changes:
            crushed, clipped = count_clipped(source, delivered, self._ends, self._ends)
            self.crushed, self.clipped = self.crushed + crushed, self.clipped + clipped

    def share(self, count: int) -> float:
        """Of the pixels that hold numbers, in per cent."""
        return 100 * count / self._pixels if self._pixels else 0.0


def _numbers(picture: Pixels) -> int:
    """How many pixels hold neither NaN nor infinity."""
    return int(np.isfinite(picture).all(axis=2).sum()) if picture.dtype.kind == "f" else picture[..., 0].size
