"""A view: one picture under one correction, measured for all that is shown of it; pure, and the same in any thread."""

from dataclasses import dataclass

from poise.correction import Correction, Encoding
from poise.scopes import Instruments, Readings, instruments, measure
from poise.scopes.waveform import Counts
from poise_tui.desk import Channel, Mode, Shown
from poise_tui.measure.correct import Levels, Work, work
from poise_tui.measure.curve import entering
from poise_tui.measure.loaded import Loaded
from poise_tui.measure.matte import Keyed, keyed

__all__ = ["Focus", "Grids", "Keyed", "Levels", "View", "view"]

FIGURED = 60
"""Rows of the sample that readings are taken from while nudges follow each other."""


@dataclass(frozen=True)
class Grids:
    """The sizes to count: of the waveform, of each channel of the parade, of the vectorscope, and behind a curve."""

    columns: int
    parade_columns: int
    rows: int
    size: int
    bins: int = 1


@dataclass(frozen=True)
class Focus:
    """What is looked at: the shot as a whole, one of its mattes, or the curve of a channel.

    Attributes:
        matte: its place; None while it is still to be made.
        inside: whether the correction inside the matte is in hand, so that what comes out is counted.
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
    """What a picture looks like to the instruments; two are equal only if they are the same.

    Attributes:
        scopes: None where a matte is looked at.
        levels: (height, width, 1 or 3) float32 work code, 0..1 nominal, for the picture.
        readings: of a sample, or of the whole proxy.
        keyed: where a matte is looked at.
        entering: the histogram of what enters a curve, where one is looked at.
    """

    scopes: Instruments | None
    levels: Levels
    readings: Readings
    keyed: Keyed | None = None
    entering: Counts | None = None


def view(
    loaded: Loaded,
    correction: Correction,
    encoding: Encoding,
    grids: Grids,
    rough: bool = False,
    focus: Focus = WHOLE,
) -> View:
    """Correct a proxy and count it.

    Args:
        rough: from the sample, not the whole proxy: what a nudge draws.

    Raises:
        PoiseError: the correction or the encoding can't be applied to this picture.
    """
    found: Keyed | None = None
    if focus.mode == "matte":
        made, found = keyed(loaded, correction, encoding, grids.size, focus.matte, rough, focus.inside)
    else:
        made = work(loaded, correction, encoding, rough)
    # the same pixels either way, so that the picture stays as it is when the scopes are refined
    step = 1 if rough else loaded.step
    levels = made.levels(step)
    readings = _readings(made, levels if rough else None)
    if found is not None:
        return View(None, found.picture(levels, focus.shown, focus.inverted, step), readings, found)
    counted = instruments(
        made.pixels,
        grids.columns,
        grids.rows,
        grids.size,
        fine=1,
        parade_columns=grids.parade_columns,
        maximum=made.maximum,
        primaries=made.primaries,
    )
    behind = None
    if focus.mode == "curve":
        behind = entering(loaded, correction, encoding, focus.channel, grids.bins)
    return View(counted, levels, readings, entering=behind)


def _readings(made: Work, sample: Levels | None) -> Readings:
    """Of everything, or of some rows of a sample."""
    if sample is None:
        return measure(made.pixels, made.maximum, made.primaries)
    step = max(1, sample.shape[0] // FIGURED)
    return measure(sample[::step, ::step], None, made.primaries)
