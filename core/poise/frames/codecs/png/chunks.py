"""The chunks of a PNG file, and which of them an output keeps.

Source: W3C PNG (Third Edition) 5.3 chunk layout, 5.4 naming, 11 chunks, 14.2 copying of unknown chunks.
"""

import io
import struct
import zlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any, BinaryIO

from poise.errors import FrameError
from poise.frames.codecs.exif_thumbnail import replaced
from poise.frames.frame import Depth, Frame

SIGNATURE = b"\x89PNG\r\n\x1a\n"
_OF_ENCODING = {b"gAMA", b"cHRM", b"sRGB", b"cICP", b"mDCV", b"cLLI"}
_OF_CODES = {b"sBIT", b"bKGD"}
_STILL_TRUE = {b"sCAL", b"sTER"}
"""Unsafe to copy by their names, yet they describe the subject and the layout, which a correction doesn't change."""
_SUGGESTED = {b"PLTE", b"sPLT", b"hIST"}
_STAMP = b"poise\0"

Chunk = tuple[bytes, bytes]
"""Type and content."""


def walk(file: BinaryIO) -> Iterator[tuple[bytes, int, int]]:
    """The type of each chunk up to IEND, with the place and length of its content, which its checksum follows.

    Raises:
        struct.error: the file ends before IEND.
    """
    size, at, kind = file.seek(0, io.SEEK_END), len(SIGNATURE), b""
    while kind != b"IEND":
        file.seek(at)
        length, kind = struct.unpack(">I4s", file.read(8))
        if at + 12 + length > size:
            raise struct.error
        yield kind, at + 8, length
        at += 12 + length


def sound(data: bytes, at: int, length: int) -> bool:
    """Whether the checksum of the chunk with this content is right."""
    return zlib.crc32(memoryview(data)[at - 4 : at + length]) == _number(data, at + length)


def chunks(path: Path, data: bytes) -> Iterator[tuple[bytes, bytes | None]]:
    """The type and content of every chunk up to IEND, without the content of IDAT; then (b"", the data after IEND).

    The content of an ancillary chunk with a wrong checksum is None.

    Raises:
        FrameError: a critical chunk has a wrong checksum, or is unknown to the standard.
        struct.error: the file ends before IEND.
    """
    end = 0
    for kind, at, length in walk(io.BytesIO(data)):
        end = at + length + 4
        if kind == b"IDAT":
            yield kind, b""  # libpng checks it
            continue
        right = sound(data, at, length)
        if kind[0:1].isupper() and not right:
            raise FrameError(path, f"its chunk {named(kind)} is damaged; copy it again")
        if kind[0:1].isupper() and kind not in (b"IHDR", b"PLTE", b"IEND"):
            raise FrameError(path, f"the PNG holds a chunk {named(kind)} that poise must not ignore; save it again")
        yield kind, data[at : at + length] if right else None
    yield b"", data[end:]


def critical(data: bytes) -> bytes:
    """A file with only the chunks of the picture, since libpng prints warnings about others."""
    kept = [(at, length) for kind, at, length in walk(io.BytesIO(data)) if kind in (b"IHDR", b"IDAT", b"IEND")]
    return b"".join([SIGNATURE, *(memoryview(data)[at - 8 : at + length + 4] for at, length in kept)])


def kept(listed: list[Chunk], frame: Frame, depth: Depth) -> tuple[list[Chunk], dict[str, None]]:
    """The chunks that an output keeps, in their order, and notes on the others.

    Args:
        listed: the chunks of the source before or after its picture.
        frame: the output.
        depth: the depth of the source.
    """
    found: list[Chunk] = []
    notes: dict[str, None] = {}
    for kind, body in listed:
        outdated = _outdated(kind, frame, depth)
        if outdated:
            notes[f"not kept: {outdated}"] = None
        elif kind == b"eXIf":
            exif, said = replaced(body, frame.pixels)
            found.append((kind, exif))
            notes |= dict.fromkeys(said)
        elif kind != b"iCCP" or frame.icc:
            found.append((kind, body))
    return found, notes


def stamped(listed: list[Chunk], stamp: str) -> list[Chunk]:
    """The chunks with the stamp as a text chunk; a stamp of an earlier run is kept in front of it."""
    words = [body[len(_STAMP) :] for kind, body in listed if kind == b"tEXt" and body.startswith(_STAMP)]
    others = [(kind, body) for kind, body in listed if kind != b"tEXt" or not body.startswith(_STAMP)]
    return [*others, (b"tEXt", _STAMP + b"; ".join([*words, stamp.encode("latin-1", "replace")]))]


def put(file: Any, kind: bytes, body: bytes | memoryview) -> None:
    """Write one chunk."""
    file.write(struct.pack(">I", len(body)) + kind)
    file.write(body)
    file.write(struct.pack(">I", zlib.crc32(body, zlib.crc32(kind))))


def holds(listed: list[Chunk]) -> tuple[str, ...]:
    """The metadata that another format can't keep, as in `poise.frames.codecs.left_behind`."""
    found: dict[str, None] = {}
    for kind, body in listed:
        if kind == b"eXIf":
            found["EXIF"] = None
        elif kind in (b"tEXt", b"zTXt", b"iTXt"):
            found["XMP" if body.startswith(b"XML:com.adobe.xmp\0") else "text"] = None
        elif kind == b"pHYs":
            found["resolution"] = None
    return tuple(found)


def named(kind: bytes) -> str:
    """The type of a chunk for messages, with odd bytes escaped."""
    return kind.decode("latin-1").encode("unicode-escape").decode()


def _outdated(kind: bytes, frame: Frame, depth: Depth) -> str:
    """Why a chunk would be wrong in an output; empty if it would not."""
    if kind in _SUGGESTED:
        return f"{named(kind)}, a palette suggested for the uncorrected picture"
    if kind == b"tIME":
        return "tIME, the time of the last change, which is out of date"
    if kind in _OF_ENCODING:
        return f"{named(kind)}, which describes the encoding that the output no longer has" if frame.recoded else ""
    if kind in _OF_CODES:
        return f"{named(kind)}, which is in codes of the source's depth" if frame.depth is not depth else ""
    if kind == b"iCCP" or kind in _STILL_TRUE or kind[3:4].islower():
        return ""
    return f"chunk {named(kind)}, unsafe to copy when pixels change"


def _number(data: bytes, at: int) -> int:
    return int.from_bytes(data[at : at + 4], "big")
