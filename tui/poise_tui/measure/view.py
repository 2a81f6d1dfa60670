"""A view: one picture under one correction, measured for everything on screen; pure, and safe in any thread."""

from dataclasses import dataclass, replace

from poise.correction import Correction, Encoding
from poise.delivery.clipping import NO_LOSS, ClippingLoss
from poise.scopes import WHOLE as WHOLE_SCALE
from poise.scopes import Instruments, Readings, Scale, instruments, measure
from poise.scopes.waveform import Counts
from poise_tui.desk import Channel, Mode, Shown
from poise_tui.measure.correct import Work, WorkCode, loss, work
from poise_tui.measure.curve import entering
from poise_tui.measure.loaded import Loaded
from poise_tui.measure.matte import Keyed, keyed

__all__ = ["Focus", "Grids", "Keyed", "View", "WorkCode", "view"]

FIGURED = 60
"""Rows of the sample that the readings of a nudge are taken from."""


@dataclass(frozen=True)
class Grids:
    """The sizes of the count grids.

    Attributes:
        columns: of the waveform.
        parade_columns: of each channel of the parade.
        rows: of the waveform, parade and histogram.
        size: rows and columns of the vectorscope.
        bins: of the histogram behind a curve.
        scale: the part of the level scale that they show.
        gain: of the vectorscope.
    """

    columns: int
    parade_columns: int
    rows: int
    size: int
    bins: int = 1
    scale: Scale = WHOLE_SCALE
    gain: int = 1


@dataclass(frozen=True)
class Focus:
    """What a view is about: the shot as a whole, one of its mattes, or the curve of a channel.

    Attributes:
        matte: its index; None while it is still to be made.
        inside: whether the current bank acts inside the matte, so that the result is counted.
    """

    mode: Mode = "balance"
    matte: int | None = None
    shown: Shown = "result"
    inverted: bool = False
    channel: Channel = "master"
    inside: bool = False


WHOLE = Focus()
"""The shot as a whole."""


@dataclass(frozen=True, eq=False)
class View:
    """A picture measured for the instruments; compared by identity.

    Attributes:
        scopes: the count grids; None in matte mode.
        levels: (height, width, 1 or 3) float32 work code, 0..1 nominal, for the picture.
        readings: of a sample, or of the whole proxy.
        loss: what the correction crushes and clips in the same pixels.
        keyed: in matte mode only.
        entering: the histogram of what enters the current curve, in curve mode only.
        rough: whether it is from the sample instead of the whole proxy.
    """

    scopes: Instruments | None
    levels: WorkCode
    readings: Readings
    loss: ClippingLoss = NO_LOSS
    keyed: Keyed | None = None
    entering: Counts | None = None
    rough: bool = False


def view(
    loaded: Loaded,
    correction: Correction,
    encoding: Encoding,
    grids: Grids,
    rough: bool = False,
    focus: Focus = WHOLE,
) -> View:
    """Corrects a proxy and measures it.

    Args:
        rough: from the sample instead of the whole proxy, as for a nudge.

    Raises:
        PoiseError: the correction or the encoding can't be applied to this picture.
    """
    found: Keyed | None = None
    if focus.mode == "matte":
        made, found = keyed(loaded, correction, encoding, grids.size, focus.matte, rough, focus.inside, grids.gain)
    else:
        made = work(loaded, correction, encoding, rough)
    # the same pixels either way, so that the picture stays as it is when the scopes are refined
    step = 1 if rough else loaded.step
    levels = made.levels(step)
    readings = _readings(made, levels if rough else None)
    few = max(1, levels.shape[0] // FIGURED) if rough else 1
    source, depth = loaded.pixels(rough)
    part = replace(made, pixels=made.pixels[::few, ::few])
    lost = loss(source[::few, ::few], depth, part, correction, encoding)
    if found is not None:
        return View(None, found.picture(levels, focus.shown, focus.inverted, step), readings, lost, found, rough=rough)
    counted = instruments(
        made.pixels,
        grids.columns,
        grids.rows,
        grids.size,
        fine=1,
        parade_columns=grids.parade_columns,
        maximum=made.maximum,
        primaries=made.primaries,
        scale=grids.scale,
        gain=grids.gain,
    )
    behind = None
    if focus.mode == "curve":
        behind = entering(loaded, correction, encoding, focus.channel, grids.bins)
    return View(counted, levels, readings, lost, entering=behind, rough=rough)


def _readings(made: Work, sample: WorkCode | None) -> Readings:
    """The readings of everything, or of some rows of a sample."""
    if sample is None:
        return measure(made.pixels, made.maximum, made.primaries)
    step = max(1, sample.shape[0] // FIGURED)
    return measure(sample[::step, ::step], None, made.primaries)
