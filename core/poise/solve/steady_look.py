"""Reduces a frame for `poise.solve.steady`: small, in linear light, without flare."""

import numpy as np

from poise.chain import encoding as ends
from poise.chain.light import to_light
from poise.correction.model import Encoding, Light
from poise.frames.frame import Depth, Pixels
from poise.solve.steady import Look

WIDTH = 160
"""The largest width or height of a `Look`, in pixels; averaging a 4K frame to this size makes its noise negligible."""
CLIPPED = 0.985
"""The share of full scale from which an average over pixels may contain clipped ones."""


def look(pixels: Pixels, light: Light, encoding: Encoding, depth: Depth) -> Look:
    """Reduces a frame for comparison.

    Args:
        pixels: (height, width, 1 or 3) in codes of `depth`.
        light: the light stage of its correction, whose flare is subtracted.

    Returns:
        At most WIDTH pixels wide and high.

    Raises:
        PoiseError: unknown transfer function, or a CLF that can't be used.

    Example:
        >>> round(float(look(np.full((8, 8, 3), 128, np.uint8), Light(), Encoding(), Depth.U8).light.mean()), 3)
        0.216
    """
    import cv2

    code = pixels if pixels.dtype in (np.uint8, np.uint16, np.float32) else pixels.astype(np.float32)
    scale = min(1.0, WIDTH / max(code.shape[:2]))
    size = max(1, round(code.shape[1] * scale)), max(1, round(code.shape[0] * scale))
    with np.errstate(invalid="ignore", over="ignore"):
        code = cv2.resize(code.astype(np.float32) if scale == 1 else code, size, interpolation=cv2.INTER_AREA)
        code = code.reshape(size[1], size[0], -1).astype(np.float64) / depth.maximum
        code = np.repeat(code, 3, axis=-1) if code.shape[-1] == 1 else code[..., :3]
        usable = np.isfinite(code).all(axis=-1)
        if not depth.is_float:
            usable &= (code < CLIPPED).all(axis=-1)
        rgb = np.nan_to_num(code, posinf=1.0, neginf=0.0)
        for stage in (*ends.entry(encoding, depth), *to_light(light, encoding)):
            rgb = stage(rgb)
    return Look(np.nan_to_num(rgb).astype(np.float32), np.asarray(usable))
