"""The chain in plain float64: what the fast path is held against."""

import numpy as np
import numpy.typing as npt

from poise.chain import encoding as ends
from poise.chain import order
from poise.correction.model import Correction, Encoding
from poise.frames.frame import Depth, Pixels


def reference(
    pixels: Pixels, correction: Correction, encoding: Encoding, depth: Depth, out_depth: Depth | None = None
) -> npt.NDArray[np.float64]:
    """The corrected picture in delivery code, float64, before rounding.

    Args:
        pixels: (..., 3) in codes of `depth`.

    Returns:
        (..., 3), 1 is full scale; for integers the code is floor(v * maximum + 0.5).
    """
    out = out_depth or depth
    rgb = pixels.astype(np.float64) / depth.maximum
    if order.is_neutral(correction, encoding):
        return rgb
    steps = order.steps(correction, encoding, clamp=not out.is_float)
    for stage in [*ends.entry(encoding, depth), *steps, *ends.exit(encoding, out)]:
        rgb = stage(rgb)
    return rgb


def rounded(rgb: npt.NDArray[np.float64], depth: Depth) -> Pixels:
    """Values as codes of a depth: floor(v (2^n - 1) + 0.5), clamped; float as it is."""
    if depth.is_float:
        return rgb.astype(depth.dtype)
    return np.floor(np.clip(rgb, 0, 1) * depth.maximum + 0.5).astype(depth.dtype)
