"""The chunks of a WebP file, and the header of its picture.

Source: RFC 9649 (WebP), 2.3 to 2.7 (container), 3.4 (lossless header); RFC 6386, 9.1 (VP8 frame header).
"""

import struct
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from poise.errors import FrameError
from poise.frames import limits

LOSSY, LOSSLESS, EXTENDED, ALPHA = b"VP8 ", b"VP8L", b"VP8X", b"ALPH"
_ANIMATED = {b"ANIM", b"ANMF"}
_ALPHA_FLAG, _ANIMATION_FLAG = 0x10, 0x02


@dataclass(frozen=True)
class Chunk:
    """One chunk: its type, and the place and size of its content."""

    kind: bytes
    start: int
    size: int


@dataclass(frozen=True)
class Header:
    """The picture's size, whether it has alpha, its chunks, and the end of the container."""

    width: int
    height: int
    alpha: bool
    chunks: tuple[Chunk, ...]
    end: int


def header(path: Path, file: BinaryIO, size: int) -> Header:
    """The header of an open file, from its chunks.

    Args:
        path: named in errors.
        size: of the file in bytes.

    Raises:
        FrameError: it is animated, holds no picture, or its sizes disagree.
        struct.error: it is cut short.
    """
    file.seek(0)
    (length,) = struct.unpack_from("<I", file.read(12), 4)
    end = 8 + length
    if end > size:
        raise struct.error
    chunks, at = [], 12
    while at + 8 <= end:
        file.seek(at)
        kind, length = struct.unpack("<4sI", file.read(8))
        chunks.append(Chunk(kind, at + 8, length))
        if at + 8 + length > end:
            raise struct.error
        if len(chunks) > limits.MOST_BLOCKS:
            raise FrameError(path, "the WebP holds too many chunks; save the picture again by itself")
        at += 8 + length + length % 2
    found = {chunk.kind: chunk for chunk in reversed(chunks)}
    flags, canvas = 0, None
    if EXTENDED in found:
        content = _content(file, found[EXTENDED], 10)
        flags = content[0]
        canvas = int.from_bytes(content[4:7], "little") + 1, int.from_bytes(content[7:10], "little") + 1
        limits.possible(path, *canvas, 4)
    if flags & _ANIMATION_FLAG or found.keys() & _ANIMATED:
        raise FrameError(path, "the WebP is animated, which poise doesn't correct; save its frames as pictures")
    picture = found.get(LOSSLESS) or found.get(LOSSY)
    if picture is None:
        raise FrameError(path, "the WebP holds no picture; copy it again")
    width, height, alpha = _lossless(file, picture) if LOSSLESS in found else _lossy(file, picture)
    if canvas not in (None, (width, height)):
        raise FrameError(path, "its canvas and its picture differ in size; it is damaged, copy it again")
    return Header(width, height, alpha or bool(flags & _ALPHA_FLAG) or ALPHA in found, tuple(chunks), end)


def _content(file: BinaryIO, chunk: Chunk, size: int) -> bytes:
    file.seek(chunk.start)
    content = file.read(min(size, chunk.size))
    if len(content) < size:
        raise struct.error
    return content


def _lossless(file: BinaryIO, chunk: Chunk) -> tuple[int, int, bool]:
    bits = int.from_bytes(_content(file, chunk, 5)[1:], "little")
    return (bits & 0x3FFF) + 1, (bits >> 14 & 0x3FFF) + 1, bool(bits >> 28 & 1)


def _lossy(file: BinaryIO, chunk: Chunk) -> tuple[int, int, bool]:
    width, height = struct.unpack("<HH", _content(file, chunk, 10)[6:])
    return width & 0x3FFF, height & 0x3FFF, False
