"""Replaces the preview in an OpenEXR header by one of the corrected picture."""

import struct

import numpy as np

from poise.frames.frame import Pixels


def drawn(pixels: Pixels, old: bytes) -> bytes:
    """A preview of the same size as the old one: evenly sampled pixels, encoded by gamma 2.2, opaque.

    Source: OpenEXR's `PreviewImage` ("gamma 2.2", ImfPreviewImage.h): width, height, then RGBA of 8 bit.

    Args:
        pixels: (height, width, 1 to 4) in linear light.
        old: the value of the attribute; a damaged one becomes an empty preview.
    """
    width, height = struct.unpack_from("<II", old) if len(old) >= 8 else (0, 0)
    if len(old) != 8 + 4 * width * height:
        return struct.pack("<II", 0, 0)
    rows = (np.arange(height) * pixels.shape[0] + pixels.shape[0] // 2) // max(height, 1)
    columns = (np.arange(width) * pixels.shape[1] + pixels.shape[1] // 2) // max(width, 1)
    few = pixels[rows[:, None], columns, : 1 if pixels.shape[2] < 3 else 3].astype(np.float64)
    code = np.clip(np.nan_to_num(few), 0, 1) ** (1 / 2.2) * 255
    made = np.full((height, width, 4), 255, np.uint8)
    made[..., :3] = np.floor(code + 0.5)
    return struct.pack("<II", width, height) + made.tobytes()
