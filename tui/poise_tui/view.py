"""A view: one picture under one correction, measured for every instrument; pure, and the same in any thread."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from poise.correction import Correction, Encoding
from poise.scopes import Instruments, Readings, instruments, measure
from poise_tui.loading import Loaded

FIGURED = 60
"""Rows of the sample that readings are taken from while nudges follow each other."""


@dataclass(frozen=True)
class Grids:
    """The sizes to count: of the waveform, of each channel of the parade, and of the vectorscope."""

    columns: int
    parade_columns: int
    rows: int
    size: int


@dataclass(frozen=True, eq=False)
class View:
    """What a picture looks like to the instruments; two are equal only if they are the same.

    Attributes:
        levels: (height, width, 1 or 3) float32 work code, 0..1 nominal, for the picture.
        readings: of a sample, or of the whole proxy.
    """

    scopes: Instruments
    levels: npt.NDArray[np.float32]
    readings: Readings


def view(loaded: Loaded, correction: Correction, encoding: Encoding, grids: Grids, rough: bool = False) -> View:
    """Correct a proxy and count it.

    Args:
        rough: from the sample, not the whole proxy: what a nudge draws.

    Raises:
        PoiseError: the correction or the encoding can't be applied to this picture.
    """
    from poise.engine import COARSE, compile_engine  # not before the first paint

    pixels, depth = (loaded.sample, loaded.sample_depth) if rough else (loaded.small, loaded.depth)
    assert pixels is not None
    work = compile_engine(correction, encoding, depth, output="work", entries=COARSE).apply(pixels)
    maximum = None if work.dtype.kind == "f" else depth.maximum
    primaries = encoding.delivery_primaries or encoding.primaries
    counted = instruments(
        work,
        grids.columns,
        grids.rows,
        grids.size,
        fine=1,
        parade_columns=grids.parade_columns,
        maximum=maximum,
        primaries=primaries,
    )
    # the same pixels either way, so that the picture stays as it is when the scopes are refined
    shown = work if rough else work[:: loaded.step, :: loaded.step]
    levels = np.asarray(shown, np.float32) / np.float32(maximum or 1)
    step = max(1, levels.shape[0] // FIGURED)
    readings = measure(levels[::step, ::step], None, primaries) if rough else measure(work, maximum, primaries)
    return View(counted, levels, readings)
