"""The transparent colour of a PNG (tRNS): the one colour of a grey or RGB picture that is clear; becomes alpha.

A correction changes colours, so a colour alone can no longer mark what is clear.

Source: W3C PNG (Third Edition) 11.3.1.1 tRNS, 11.3.2.5 sBIT.
"""

import struct
import zlib
from typing import BinaryIO

import numpy as np

from poise.frames.codecs.png.chunks import Chunk, walk
from poise.frames.frame import Depth, Pixels

TRANSPARENT = b"tRNS"
NOTE = "its transparent colour (tRNS) became an alpha channel"
_CODES = {0: 1, 2: 3}


def transparent(file: BinaryIO) -> tuple[int, ...] | None:
    """The codes of the transparent colour, one for grey or three for RGB; None if the file has no valid one.

    Args:
        file: a PNG file whose structure has been checked.
    """
    file.seek(24)
    bits, colour = file.read(2)
    for kind, _, length in walk(file):
        if kind == b"IDAT":
            break
        if kind == TRANSPARENT and length and length == 2 * _CODES.get(colour, 0):
            body, stated = file.read(length), file.read(4)
            if zlib.crc32(kind + body).to_bytes(4) == stated:
                return tuple(code & (2**bits - 1) for code in struct.unpack(f">{length // 2}H", body))
    return None


def with_alpha(pixels: Pixels, colour: tuple[int, ...], depth: Depth) -> Pixels:
    """The picture with an alpha channel: 0 where it has the transparent colour, full elsewhere."""
    clear = (pixels == np.array(colour, pixels.dtype)).all(axis=-1, keepdims=True)
    return np.concatenate([pixels, np.where(clear, 0, depth.maximum).astype(pixels.dtype)], axis=-1)


def for_alpha(listed: list[Chunk], depth: Depth) -> list[Chunk]:
    """The chunks of a picture with an added alpha channel, whose bits sBIT must list too."""
    return [(kind, body + bytes([depth.bits]) if kind == b"sBIT" else body) for kind, body in listed]
