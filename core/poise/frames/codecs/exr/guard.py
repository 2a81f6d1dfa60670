"""OpenEXR: parts, their attributes, and the table of chunks that each must have.

Source: "OpenEXR File Layout" (openexr.com): version field, header, channel list, tile description, offset tables.
"""

import struct
from collections.abc import Mapping
from typing import BinaryIO

from poise.errors import FrameError
from poise.frames import limits

_LONGEST = 256
_TILED, _PARTS = 0x200, 0x1000
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
"""Of attributes that say how pixels are stored; under another type a library would take its own default instead."""
_CHUNK = 16
"""Bytes of a chunk with nothing in it: its place in the table, a coordinate and its length."""


def check(file: BinaryIO, size: int, metadata: limits.Metadata) -> None:
    _, version = struct.unpack("<4sI", file.read(8))
    parts, claimed = 0, 0
    while attributes := _header(file, metadata):
        parts += 1
        if parts > limits.MOST_PARTS:
            limit = f"more than {limits.MOST_PARTS} parts, over the limit"
            raise FrameError(metadata.path, f"the OpenEXR file holds {limit}; save one part a file")
        claimed += _picture(metadata, size, attributes, bool(version & _TILED))
        if not version & _PARTS:
            break
    if not parts:
        raise struct.error
    limits.whole(metadata.path, claimed, size)


def _header(file: BinaryIO, metadata: limits.Metadata) -> Mapping[bytes, bytes]:
    """The attributes of one part; none at the end of all."""
    found: dict[bytes, bytes] = {}
    while name := _text(file):
        kind = _text(file)
        if kind != _TYPES.get(name, kind):
            raise FrameError(metadata.path, f"its attribute {name.decode()} is damaged; copy it again")
        (length,) = struct.unpack("<I", file.read(4))
        metadata.add(length, f"the attribute {name.decode('latin-1')}")
        found[name] = file.read(length)
        if len(found[name]) < length:
            raise struct.error
    return found


def _picture(metadata: limits.Metadata, size: int, attributes: Mapping[bytes, bytes], tiled: bool) -> int:
    """The bytes of a part's picture."""
    path = metadata.path
    left, top, right, bottom = struct.unpack("<4i", attributes.get(b"dataWindow", b""))
    width, height = right - left + 1, bottom - top + 1
    compression = attributes.get(b"compression", b"\0")[0]
    pixel = _pixel(attributes.get(b"channels", b""), metadata)
    claimed = limits.possible(path, width, height, pixel)
    if tiled or b"tiles" in attributes:
        across, down = struct.unpack_from("<2I", attributes.get(b"tiles", b""))
        if limits.possible(path, across, down, pixel) > max(4 * claimed, limits.MOST_BLOCK):
            raise FrameError(path, "its tiles are far larger than its picture; it is damaged, copy it again")
        chunks = -(-width // across) * -(-height // down)
    else:
        chunks = -(-height // _LINES.get(compression, 1))
    limits.held(path, chunks * _CHUNK, size)
    if attributes.get(b"type", b"").startswith(b"deep"):  # as many values a pixel as it likes
        return limits.MOST_BYTES
    limits.held(path, claimed, size, _RATIOS.get(compression, limits.OTHER))
    return claimed


def _pixel(channels: bytes, metadata: limits.Metadata) -> float:
    """Bytes of a pixel, all channels."""
    total, at = 0.0, 0
    while at < len(channels) and channels[at]:
        at = channels.index(b"\0", at) + 1
        kind, across, down = struct.unpack_from("<i4x2i", channels, at)
        total += _BYTES.get(kind, 4) / max(across * down, 1)
        at += 16
        metadata.add(0, "the channel list")
    return total


def _text(file: BinaryIO) -> bytes:
    start = file.tell()
    text, end, _ = file.read(_LONGEST).partition(b"\0")
    if not end:
        raise struct.error
    file.seek(start + len(text) + 1)
    return text
