"""The guard of PNG: its chunks, and the unpacked size of their text and profiles.

Source: W3C PNG (Third Edition), 11.2.1 IHDR, 11.3.2.3 iCCP, 11.3.3 textual information.
"""

import struct
import zlib
from contextlib import suppress
from typing import BinaryIO

from poise.errors import FrameError
from poise.frames import limits
from poise.frames.codecs.png.chunks import walk

_CHANNELS = {0: 1, 2: 3, 3: 1, 4: 2, 6: 4}
_PACKED = (b"iCCP", b"zTXt", b"iTXt")


def check(file: BinaryIO, size: int, metadata: limits.Metadata) -> None:
    path = metadata.path
    head = file.read(33)
    width, height, bits, colour = struct.unpack_from(">IIBB", head, 16)
    claimed = limits.possible(path, width, height, _CHANNELS.get(colour, 4) * bits / 8)
    limits.whole(path, claimed, size)
    picture = 0
    for kind, _, length in walk(file):
        if not kind.isalpha():
            raise FrameError(path, "one of its chunks has no name; it is damaged, copy it again")
        if kind == b"IDAT":
            picture += length
        elif kind != b"IHDR":
            what = f"the chunk {kind.decode('latin-1')}"
            metadata.add(length, what)
            if kind in _PACKED:
                _unpack(kind, file.read(length), metadata, what)
    limits.held(path, claimed, picture, limits.DEFLATE)


def _unpack(kind: bytes, body: bytes, metadata: limits.Metadata, what: str) -> None:
    """Count the unpacked size of a chunk; the codec reports one that can't be unpacked."""
    _, _, packed = body.partition(b"\0")
    if kind == b"iTXt":
        if packed[:1] != b"\1":
            return
        packed = packed[2:].partition(b"\0")[2].partition(b"\0")[2]
    with suppress(zlib.error):
        metadata.unpacked(packed[1:] if kind != b"iTXt" else packed, what)
