"""The transparent colour of a PNG: of a grey or RGB picture, one code that is clear; it becomes an alpha channel.

A corrected picture has other codes, so a colour by itself could no longer say where it is clear.

Source: W3C PNG (Third Edition) 11.3.1.1 tRNS, 11.3.2.5 sBIT.
"""

import struct
import zlib
from typing import BinaryIO

import numpy as np

from poise.frames.codecs.png.chunks import SIGNATURE, Chunk
from poise.frames.frame import Depth, Pixels

TRANSPARENT = b"tRNS"
NOTE = "its transparent colour (tRNS) became an alpha channel"
_CODES = {0: 1, 2: 3}


def transparent(file: BinaryIO) -> tuple[int, ...] | None:
    """The codes of the transparent colour, one of grey or three of RGB; None without a sound one ahead of the picture.

    Args:
        file: open, with a header that is whole.
    """
    file.seek(24)
    bits, colour = file.read(2)
    file.seek(len(SIGNATURE))
    while len(head := file.read(8)) == 8:
        length, kind = struct.unpack(">I4s", head)
        if kind == b"IDAT":
            break
        if kind != TRANSPARENT or length != 2 * _CODES.get(colour, 0) or not length:
            file.seek(length + 4, 1)
            continue
        body, stated = file.read(length), file.read(4)
        if zlib.crc32(kind + body).to_bytes(4) == stated:
            return tuple(code & (2**bits - 1) for code in struct.unpack(f">{length // 2}H", body))
    return None


def with_alpha(pixels: Pixels, colour: tuple[int, ...], depth: Depth) -> Pixels:
    """The picture with alpha: 0 where it has the transparent colour, full elsewhere."""
    clear = (pixels == np.array(colour, pixels.dtype)).all(axis=-1, keepdims=True)
    return np.concatenate([pixels, np.where(clear, 0, depth.maximum).astype(pixels.dtype)], axis=-1)


def for_alpha(listed: list[Chunk], depth: Depth) -> list[Chunk]:
    """The chunks of a picture that has gained an alpha channel: sBIT counts its bits too."""
    return [(kind, body + bytes([depth.bits]) if kind == b"sBIT" else body) for kind, body in listed]
