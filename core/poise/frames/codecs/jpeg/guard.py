"""The guard of JPEG: its segments, and the number of scans, since decoding each one passes over the whole picture.

Source: ITU-T T.81, B.2 syntax.
"""

import struct
from typing import BinaryIO

from poise.errors import FrameError
from poise.frames import limits
from poise.frames.codecs.jpeg.markers import EOI, FRAMES, SOS, walk

MOST_SCANS = 100
"""A progressive picture usually has about ten scans."""
_RATIO = 1024
"""The largest compression: 8 x 8 samples take at least one bit, so 768 bytes with 2 x 2 subsampling take 6 bits."""


def check(file: BinaryIO, size: int, metadata: limits.Metadata) -> None:
    path = metadata.path
    scans, claimed = 0, 0
    for marker in walk(file):
        if marker.code in FRAMES:
            if claimed:
                raise FrameError(path, "the JPEG says its size twice; it is damaged, copy it again")
            height, width, channels = struct.unpack(">xHHB", file.read(6))
            if not height:
                raise FrameError(path, "the JPEG gives its height after the picture (DNL); save it again")
            claimed = limits.possible(path, width, height, channels)
        elif marker.code == SOS:
            scans += 1
        elif marker.code != EOI:
            metadata.add(marker.end - marker.start - 2, f"the segment {marker.code:02X}")
        if scans > MOST_SCANS:
            raise FrameError(path, f"the JPEG has more than {MOST_SCANS} scans, over the limit; save it again")
    limits.held(path, claimed, size, _RATIO)
    limits.whole(path, claimed, size)
