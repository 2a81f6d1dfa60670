"""The guard of JPEG: its segments, and the number of scans, since decoding each one passes over the whole picture.

Source: ITU-T T.81, B.1.1 markers, B.2 syntax.
"""

import re
import struct
from typing import BinaryIO

from poise.errors import FrameError
from poise.frames import limits

MOST_SCANS = 100
"""A progressive picture usually has about ten scans."""
_RATIO = 1024
"""The largest compression: 8 x 8 samples take at least one bit, so 768 bytes with 2 x 2 subsampling take 6 bits."""
_SOS, _EOI = 0xDA, 0xD9
_SIZES = {0xC0, 0xC1, 0xC2, 0xC3, 0xC5, 0xC6, 0xC7, 0xC9, 0xCA, 0xCB, 0xCD, 0xCE, 0xCF}
_MARKER = re.compile(rb"\xff[^\x00\x01\xd0-\xd7\xff]", re.DOTALL)
_PIECE = 1 << 20


def check(file: BinaryIO, size: int, metadata: limits.Metadata) -> None:
    path = metadata.path
    file.seek(2)
    scans, claimed = 0, 0
    while (marker := _next(file)) not in (None, _EOI):
        (length,) = struct.unpack(">H", file.read(2))
        if marker in _SIZES:
            if claimed:
                raise FrameError(path, "the JPEG says its size twice; it is damaged, copy it again")
            height, width, channels = struct.unpack(">xHHB", file.read(6))
            if not height:
                raise FrameError(path, "the JPEG gives its height after the picture (DNL); save it again")
            claimed = limits.possible(path, width, height, channels)
            length -= 6
        elif marker == _SOS:
            scans += 1
        else:
            metadata.add(length, f"the segment {marker:02X}")
        if scans > MOST_SCANS:
            raise FrameError(path, f"the JPEG has more than {MOST_SCANS} scans, over the limit; save it again")
        file.seek(max(length - 2, 0), 1)
    limits.held(path, claimed, size, _RATIO)
    limits.whole(path, claimed, size)


def _next(file: BinaryIO) -> int | None:
    """The next marker, after skipping coded data; None at the end."""
    while piece := file.read(_PIECE):
        if found := _MARKER.search(piece):
            file.seek(found.end() - len(piece), 1)
            return piece[found.end() - 1]
        if piece[-1] == 0xFF and len(piece) > 1:
            file.seek(-1, 1)  # a marker may cross the pieces
    return None
