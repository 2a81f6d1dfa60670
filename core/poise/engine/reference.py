"""The chain in plain float64: the reference for testing the engine."""

import numpy as np
import numpy.typing as npt

from poise.chain import encoding as ends
from poise.chain import matte, order
from poise.chain.stage import Stage
from poise.colour.luma import weights
from poise.correction.model import Correction, Encoding
from poise.frames.frame import Depth, Pixels


def reference(
    pixels: Pixels, correction: Correction, encoding: Encoding, depth: Depth, out_depth: Depth | None = None
) -> npt.NDArray[np.float64]:
    """The corrected picture in delivery code, float64, before rounding.

    Args:
        pixels: (..., 3) in codes of `depth`; (height, width, 3) if there are mattes, which don't select pixels with a
            NaN or infinite channel.

    Returns:
        (..., 3), 1 is full scale; `rounded` turns it into codes.

    Raises:
        PoiseError: as `compile_engine`.

    Example:
        >>> reference(np.array([[[0, 51, 255]]]), Correction(), Encoding(), Depth.U8).tolist()
        [[[0.0, 0.2, 1.0]]]
    """
    out = out_depth or depth
    rgb = pixels.astype(np.float64) / depth.maximum
    if order.is_neutral(correction, encoding):
        return rgb
    clamp = not out.is_float
    rgb = _through([*ends.entry(encoding, depth), *order.steps(correction, encoding, clamp)], rgb)
    by = weights(encoding.work_primaries)
    for one in matte.active(correction.mattes):
        lost = np.asarray(~np.isfinite(pixels).all(axis=-1))
        inside = _through(matte.inside_stages(one.inside, encoding.work, by, clamp), rgb)
        mask = matte.mask(rgb, one, by, lost)
        rgb = np.where(mask[..., None] > 0, matte.blend(rgb, inside, mask), rgb)
    return _through(ends.exit(encoding, out), rgb)


def _through(stages: list[Stage], rgb: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    for stage in stages:
        rgb = stage(rgb)
    return rgb


def rounded(rgb: npt.NDArray[np.float64], depth: Depth) -> Pixels:
    """Codes of a depth: floor(v (2^n - 1) + 0.5), clamped; float values only change their type.

    Example:
        >>> rounded(np.array([0.5, 1.2]), Depth.U8).tolist()
        [128, 255]
    """
    if depth.is_float:
        return rgb.astype(depth.dtype)
    return np.floor(np.clip(rgb, 0, 1) * depth.maximum + 0.5).astype(depth.dtype)
