"""TIFF of 10, 12 and 14 bits: strips or tiles of packed bits, compressed, which tifffile writes uncompressed only.

Source: TIFF 6.0 section 7 (rows begin on whole bytes, the most significant bit first), 9 (PackBits), 15 (padded tiles).
"""

from collections.abc import Iterator

import imagecodecs
import numpy as np
import tifffile

from poise.frames.codecs.tiff.layout import Storage
from poise.frames.frame import Pixels

_PACKBITS = 32773


def segments(pixels: Pixels, stored: Storage, bits: int, level: int | None) -> Iterator[bytes]:
    """The strips or tiles of a picture in the order of the file, each packed and compressed.

    Args:
        pixels: (height, width, channels), codes.
        stored: decides tiles, rows, planes and compression.
        bits: the bits of a code.
        level: the compression level; None for the default.
    """
    compress = tifffile.TIFF.COMPRESSORS[stored.compression]
    options = {} if level is None else {"level": level}
    planes = np.split(pixels, pixels.shape[2], axis=2) if stored.planar else [pixels]
    for part in (part for plane in planes for part in _parts(plane, stored)):
        run = part.shape[1] * part.shape[2]
        packed = imagecodecs.packints_encode(np.ascontiguousarray(part), bits, runlen=run)
        if stored.compression == _PACKBITS:  # runs must not cross rows
            rows = np.frombuffer(packed, np.uint8).reshape(len(part), -1)
            yield b"".join(bytes(compress(row)) for row in rows)
        else:
            yield bytes(compress(packed, **options))


def _parts(plane: Pixels, stored: Storage) -> Iterator[Pixels]:
    height, width, _ = plane.shape
    down, across = stored.tile or (stored.rows or height, width)
    for top in range(0, height, down):
        for left in range(0, width, across):
            part = plane[top : top + down, left : left + across]
            if stored.tile:
                part = np.pad(part, ((0, down - part.shape[0]), (0, across - part.shape[1]), (0, 0)))
            yield part
