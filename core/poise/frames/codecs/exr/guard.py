"""The guard of OpenEXR: its headers, and the table of chunks that each part must have.

Source: "OpenEXR File Layout" (openexr.com): version field, tile description, offset tables.
"""

import struct
from typing import BinaryIO

from poise.errors import FrameError
from poise.frames import limits
from poise.frames.codecs.exr.file import TILED, Attributes, channels, headers

_BYTES = {0: 4, 1: 2, 2: 4}
_LINES = {3: 16, 4: 32, 5: 16, 6: 32, 7: 32, 8: 32, 9: 256}
"""Lines in a chunk by compression; 1 for others."""
_RATIOS = {0: 1, 2: limits.DEFLATE, 3: limits.DEFLATE, 5: 2 * limits.DEFLATE}
_TYPES = {
    b"channels": b"chlist",
    b"compression": b"compression",
    b"dataWindow": b"box2i",
    b"displayWindow": b"box2i",
    b"lineOrder": b"lineOrder",
    b"tiles": b"tiledesc",
}
"""Attributes that decide how pixels are stored; a library would ignore one of another type and use its own default."""
_REQUIRED = (b"channels", b"compression", b"dataWindow")
"""Attributes without which no pixel can be read."""
_CHUNK = 16
"""Bytes of an empty chunk: its entry in the table, a coordinate and its length."""


def check(file: BinaryIO, size: int, metadata: limits.Metadata) -> None:
    path = metadata.path
    try:
        version, parts = headers(file, metadata.add)
    except ValueError as fault:
        raise FrameError(path, f"{fault}") from fault
    if len(parts) > limits.MOST_PARTS:
        limit = f"more than {limits.MOST_PARTS} parts, over the limit"
        raise FrameError(path, f"the OpenEXR file holds {limit}; save one part a file")
    claimed = 0
    for attributes in parts:
        for name, (kind, _) in attributes.items():
            if kind != _TYPES.get(name, kind):
                raise FrameError(path, f"its attribute {name.decode()} is damaged; copy it again")
        missing = ", ".join(name.decode() for name in _REQUIRED if name not in attributes)
        if missing:
            raise FrameError(path, f"its header has no {missing}; it is damaged, copy it again")
        claimed += _picture(metadata, size, attributes, bool(version & TILED))
    limits.whole(path, claimed, size)


def _picture(metadata: limits.Metadata, size: int, attributes: Attributes, tiled: bool) -> int:
    """The bytes of a part's picture."""
    path = metadata.path
    left, top, right, bottom = struct.unpack("<4i", attributes[b"dataWindow"][1])
    width, height = right - left + 1, bottom - top + 1
    compression = (attributes[b"compression"][1] or b"\0")[0]
    pixel = _pixel(attributes, metadata)
    claimed = limits.possible(path, width, height, pixel)
    if tiled or b"tiles" in attributes:
        across, down = struct.unpack_from("<2I", attributes.get(b"tiles", (b"", b""))[1])
        if limits.possible(path, across, down, pixel) > max(4 * claimed, limits.MOST_BLOCK):
            raise FrameError(path, "its tiles are far larger than its picture; it is damaged, copy it again")
        chunks = -(-width // across) * -(-height // down)
    else:
        chunks = -(-height // _LINES.get(compression, 1))
    limits.held(path, chunks * _CHUNK, size)
    if attributes.get(b"type", (b"", b""))[1].startswith(b"deep"):  # a pixel may have any number of values
        return limits.MOST_BYTES
    limits.held(path, claimed, size, _RATIOS.get(compression, limits.OTHER))
    return claimed


def _pixel(attributes: Attributes, metadata: limits.Metadata) -> float:
    """Bytes of a pixel, of all channels."""
    total = 0.0
    try:
        for _, kind, (across, down) in channels(attributes):
            if kind not in _BYTES or across < 1 or down < 1:
                raise ValueError
            total += _BYTES[kind] / (across * down)
            metadata.add(0, "the channel list")
    except ValueError as fault:
        raise FrameError(metadata.path, "its list of channels is damaged; copy it again") from fault
    return total
