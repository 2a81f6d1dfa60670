"""A PNG file as its chunks, and which of them an output keeps.

Source: W3C PNG (Third Edition) 5.3 chunk layout, 5.4 naming, 11 chunks, 14.2 copying of unknown chunks.
"""

import struct
import zlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from poise.errors import FrameError
from poise.frames.codecs.exif_thumbnail import redrawn
from poise.frames.codecs.shared import cut_short
from poise.frames.frame import Depth, Frame

SIGNATURE = b"\x89PNG\r\n\x1a\n"
_OF_ENCODING = {b"gAMA", b"cHRM", b"sRGB", b"cICP", b"mDCV", b"cLLI"}
_OF_CODES = {b"sBIT", b"bKGD"}
_STILL_TRUE = {b"sCAL", b"sTER"}
"""Unsafe to copy by their names, yet they tell of the subject and the layout, which a correction leaves alone."""
_SUGGESTED = {b"PLTE", b"sPLT", b"hIST"}
_STAMP = b"poise\0"

Chunk = tuple[bytes, bytes]
"""Type and content."""


def chunks(path: Path, data: bytes) -> Iterator[Chunk]:
    """Every chunk up to IEND, and then (b"", what follows it); the content of IDAT is left out.

    Raises:
        FrameError: the file ends before IEND, a chunk's content isn't what its checksum says, or it holds a critical
            chunk that the standard doesn't know.
    """
    at, kind = len(SIGNATURE), b""
    while kind != b"IEND":
        if at + 12 > len(data):
            raise cut_short(path)
        (length,) = struct.unpack_from(">I", data, at)
        kind = data[at + 4 : at + 8]
        if at + 12 + length > len(data):
            raise cut_short(path)
        if kind == b"IDAT":
            yield kind, b""  # libpng checks it
        else:
            if zlib.crc32(memoryview(data)[at + 4 : at + 8 + length]) != _number(data, at + 8 + length):
                raise FrameError(path, f"its chunk {named(kind)} is damaged; copy it again")
            if kind[0:1].isupper() and kind not in (b"IHDR", b"PLTE", b"IEND"):
                raise FrameError(path, f"the PNG holds a chunk {named(kind)} that poise must not ignore; save it anew")
            yield kind, data[at + 8 : at + 8 + length]
        at += 12 + length
    yield b"", data[at:]


def critical(data: bytes) -> bytes:
    """A whole file with the picture's own chunks alone: libpng would tell the terminal what it makes of others."""
    view, at, found, kind = memoryview(data), len(SIGNATURE), [memoryview(SIGNATURE)], b""
    while kind != b"IEND":
        (length,) = struct.unpack_from(">I", data, at)
        kind = data[at + 4 : at + 8]
        if kind in (b"IHDR", b"IDAT", b"IEND"):
            found.append(view[at : at + 12 + length])
        at += 12 + length
    return b"".join(found)


def kept(listed: list[Chunk], frame: Frame, depth: Depth) -> tuple[list[Chunk], dict[str, None]]:
    """The chunks for an output, in their order, and notes on those that it can't keep.

    Args:
        listed: the source's, before or after its picture.
        frame: the output.
        depth: the source's.
    """
    found: list[Chunk] = []
    notes: dict[str, None] = {}
    for kind, body in listed:
        untrue = _untrue(kind, frame, depth)
        if untrue:
            notes[f"not kept: {untrue}"] = None
        elif kind == b"eXIf":
            exif, said = redrawn(body, frame.pixels)
            found.append((kind, exif))
            notes |= dict.fromkeys(said)
        elif kind != b"iCCP" or frame.icc:
            found.append((kind, body))
    return found, notes


def stamped(listed: list[Chunk], stamp: str) -> list[Chunk]:
    """The chunks with the stamp as a text of its own; that of an earlier run stays in front of it."""
    words = [body[len(_STAMP) :] for kind, body in listed if kind == b"tEXt" and body.startswith(_STAMP)]
    others = [(kind, body) for kind, body in listed if kind != b"tEXt" or not body.startswith(_STAMP)]
    return [*others, (b"tEXt", _STAMP + b"; ".join([*words, stamp.encode("latin-1", "replace")]))]


def put(file: Any, kind: bytes, body: bytes | memoryview) -> None:
    """Writes one chunk."""
    file.write(struct.pack(">I", len(body)) + kind)
    file.write(body)
    file.write(struct.pack(">I", zlib.crc32(body, zlib.crc32(kind))))


def holds(listed: list[Chunk]) -> tuple[str, ...]:
    """What another format doesn't take."""
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
    return kind.decode("latin-1").encode("unicode-escape").decode()


def _untrue(kind: bytes, frame: Frame, depth: Depth) -> str:
    """Why a chunk wouldn't be true of an output; empty when it is."""
    if kind in _SUGGESTED:
        return f"{named(kind)}, a palette suggested for the picture as it was"
    if kind == b"tIME":
        return "tIME, the time of the last change, which is no longer that"
    if kind in _OF_ENCODING:
        return f"{named(kind)}, which describes the encoding that the output no longer has" if frame.recoded else ""
    if kind in _OF_CODES:
        return f"{named(kind)}, which is in codes of the source's depth" if frame.depth is not depth else ""
    if kind == b"iCCP" or kind in _STILL_TRUE or kind[3:4].islower():
        return ""
    return f"chunk {named(kind)}, unsafe to copy when pixels change"


def _number(data: bytes, at: int) -> int:
    return int.from_bytes(data[at : at + 4], "big")
