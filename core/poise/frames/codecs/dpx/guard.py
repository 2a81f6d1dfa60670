"""DPX: the place of the picture behind its header, and whether the file goes on for as long as it says.

Source: SMPTE ST 268-1, clause 5, table 1 (offset to image data) and table 2 (lines, bit depth, end-of-line padding).
"""

import struct
from typing import BinaryIO

from poise.frames import limits

_UNSET = 0xFFFFFFFF
_CHANNELS = {50: 3, 51: 4}
"""Others are refused by name, or have one channel at least."""


def check(file: BinaryIO, size: int, metadata: limits.Metadata) -> None:
    head = file.read(820)
    order = ">" if head[:4] == b"SDPX" else "<"
    (start,) = struct.unpack_from(f"{order}I", head, 4)
    width, height = struct.unpack_from(f"{order}2I", head, 772)
    coding, place, padding = struct.unpack_from(f"{order}H2I", head, 806)
    channels, bits = _CHANNELS.get(head[800], 1), head[803]
    limits.possible(metadata.path, width, height, channels * (1 if bits <= 8 else 2 if bits <= 16 else 4))
    start = place if place not in (_UNSET, 0) else start
    metadata.add(start, "its header")
    if coding != 1 and bits <= 16:
        row = width * channels * bits // 8 + (padding if padding != _UNSET else 0)
        limits.held(metadata.path, start + row * height, size)
