"""The guard of BMP: its header, and whether the file is as long as its picture.

Source: as `poise.frames.codecs.bmp.header`.
"""

import struct
from typing import BinaryIO

from poise.errors import FrameError
from poise.frames import limits
from poise.frames.codecs.bmp.header import BITFIELDS, RGB, SIZES, header


def check(file: BinaryIO, size: int, metadata: limits.Metadata) -> None:
    path = metadata.path
    found = header(file)
    if found.size not in SIZES:
        raise FrameError(path, f"the BMP has a header of {found.size:,} bytes, an unknown kind; save it as PNG")
    claimed = limits.possible(path, found.width, found.height, 4 if found.bits > 8 else 1)
    if found.compression in (RGB, BITFIELDS):
        limits.held(path, found.stored, max(size - found.pixels, 0))
    metadata.add(found.profile[1], "the profile")
    if sum(found.profile) > size:
        raise struct.error
    limits.whole(path, claimed, size)
