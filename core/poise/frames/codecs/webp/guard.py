"""The guard of WebP: its chunks, and the size of its picture.

Source: RFC 9649, 2.3 to 2.7.
"""

from typing import BinaryIO

from poise.errors import FrameError
from poise.frames import limits
from poise.frames.codecs.webp import chunks

_FREE = 64 * 2**20
"""Bytes of a picture that any file may claim, since a picture of one colour takes 34 bytes whatever its size."""
_PICTURE = {chunks.LOSSY, chunks.LOSSLESS, chunks.ALPHA}


def check(file: BinaryIO, size: int, metadata: limits.Metadata) -> None:
    path = metadata.path
    found = chunks.header(path, file, size)
    claimed = limits.possible(path, found.width, found.height, 4)
    for chunk in found.chunks:
        if chunk.kind not in _PICTURE:
            metadata.add(chunk.size, f"the chunk {chunk.kind.decode('latin-1')}")
    if claimed > max(_FREE, size * limits.OTHER):
        limit = f"its header says {found.width} x {found.height} pixels in a file of {size:,} bytes, over the limit"
        raise FrameError(path, f"{limit}; check it, or save it as PNG")
    limits.whole(path, claimed, size)
