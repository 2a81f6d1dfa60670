"""What a solver sees: file codes as full-range code and as linear light, and values run through stages."""

from collections.abc import Iterable

import numpy as np
import numpy.typing as npt

from poise.chain import encoding as ends
from poise.chain.stage import Stage
from poise.correction.model import Encoding
from poise.frames.frame import Depth, Pixels

Array = npt.NDArray[np.float64]


def full_range(pixels: Pixels, encoding: Encoding, depth: Depth) -> Array:
    """Full-range source code of pixels in file codes of `depth`, (..., 3), 1 is full scale.

    Raises:
        PoiseError: narrow range on a float picture.
    """
    return run(ends.entry(encoding, depth), pixels.astype(np.float64) / depth.maximum)


def run(stages: Iterable[Stage], rgb: Array) -> Array:
    """Values, (..., 3), after one stage and the next."""
    for stage in stages:
        rgb = stage(rgb)
    return rgb
