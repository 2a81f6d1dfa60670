"""The colours of a picture: how often each hue, chroma and luma occurs; drawn behind the ranges of a matte."""

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from poise.colour import luma as y
from poise.scopes.signal import Picture, Signal, split
from poise.scopes.waveform import Counts

NEAR_NEUTRAL = 0.02
"""The chroma below which a hue means little, since noise can turn it anywhere: four 8-bit codes (common practice, no
source)."""


@dataclass(frozen=True, eq=False)
class Colours:
    """Pixel counts, each (bins,), lowest first; compared by identity.

    Attributes:
        hue: over 0..360 degrees, without the pixels whose chroma is below NEAR_NEUTRAL.
        chroma, luma: over 0..1; values outside are counted in the end bins.
    """

    hue: Counts
    chroma: Counts
    luma: Counts


def colours(
    picture: Picture | Signal, bins: int = 360, maximum: int | None = None, primaries: str = "ITU-R BT.709"
) -> Colours:
    """Count hue, chroma and luma on the plane of the vectorscope.

    Args:
        picture, maximum, primaries: as in `split`.
        bins: the number of equal bins of each; a value on the border of two is counted in the upper one.

    Example:
        >>> counts = colours(np.array([[[1.0, 0.0, 0.0], [0.5, 0.5, 0.5]]]), 36)
        >>> counts.hue.nonzero()[0].tolist(), int(counts.hue.sum())
        ([10], 1)
    """
    signal = split(picture, maximum, primaries)
    cb, cr = signal.differences()
    chroma = y.chroma(cb, cr)
    coloured = chroma >= NEAR_NEUTRAL
    return Colours(
        hue=_counted(y.hue(cb[coloured], cr[coloured]), bins, 360.0),
        chroma=_counted(chroma, bins, 1.0),
        luma=_counted(signal.levels[0], bins, 1.0),
    )


def _counted(values: npt.NDArray[np.floating[Any]], bins: int, full: float) -> Counts:
    # clipped before the conversion, so that no value is too large for an integer
    places = np.clip(np.floor(values * (bins / full)), 0, bins - 1).astype(np.int32)
    return np.bincount(places, minlength=bins)
