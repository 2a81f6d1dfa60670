"""PNG of 8 and 16 bit: decoded by libpng, encoded here with libdeflate, which is twice as quick at the same size.

Kept: every chunk before or after the picture that the PNG specification calls safe to copy, and those that say what the
values mean (gAMA, cHRM, sRGB, cICP, mDCV, cLLI; sBIT while the depth stays); ICC under its own name. Interlaced files
are written plain. Refused by name: palettes, 1, 2 and 4 bit, a transparent colour (tRNS), animation.

Source: W3C PNG (Third Edition) 5.3 chunk layout, 9.2 filter types, 11 chunks, 14.2 copying of unknown chunks.
"""

import struct
import zlib
from collections.abc import Iterator
from pathlib import Path
from types import MappingProxyType
from typing import Any

import imagecodecs
import numpy as np
import numpy.typing as npt

from poise.errors import FrameError
from poise.frames.codecs import FORMATS, carried
from poise.frames.codecs.shared import Probe, checked, cut_short
from poise.frames.frame import Depth, Frame

Bytes = npt.NDArray[np.uint8]
_SIGNATURE = FORMATS["png"].magics[0]
_CHANNELS = {0: 1, 4: 2, 2: 3, 6: 4}
_MEANING = {b"gAMA", b"cHRM", b"sRGB", b"cICP", b"mDCV", b"cLLI", b"sBIT"}
_LEVEL = 1
_MOST_IDAT = 2**30
_SUB, _UP = 1, 2


def probe(path: Path) -> Probe:
    with path.open("rb") as file:
        return _probe(path, file.read(33))


def read(path: Path) -> Frame:
    data = path.read_bytes()
    header = _probe(path, data)
    before: list[tuple[bytes, bytes]] = []
    after: list[tuple[bytes, bytes]] = []
    icc, icc_name, seen = None, b"ICC profile", False
    for kind, body in _chunks(path, data):
        if kind in (b"tRNS", b"acTL"):
            what = "a transparent colour" if kind == b"tRNS" else "an animation"
            raise FrameError(path, f"the PNG holds {what}, which poise doesn't correct; save it as a plain PNG")
        if kind == b"iCCP":
            icc_name, _, packed = body.partition(b"\0")
            icc = zlib.decompress(packed[1:])
        elif kind == b"IDAT":
            seen = True
        elif kind in _MEANING or (kind[0:1].islower() and kind[3:4].islower()):
            (after if seen else before).append((kind, body))
    pixels = imagecodecs.png_decode(_critical(path, data)).reshape(header.height, header.width, header.channels)
    carry = {"format": "png", "depth": header.depth, "before": before, "after": after, "icc_name": icc_name}
    return Frame(pixels, header.depth, icc=icc, carry=MappingProxyType(carry))


def write(path: Path, frame: Frame, stamp: str | None) -> tuple[str, ...]:
    carry = carried(frame, "png")
    colour = {channels: code for code, channels in _CHANNELS.items()}[frame.channels]
    header = struct.pack(">IIBBBBB", frame.width, frame.height, frame.depth.bits, colour, 0, 0, 0)
    packed = memoryview(_packed(frame))
    with path.open("wb") as file:
        file.write(_SIGNATURE)
        _put(file, b"IHDR", header)
        if frame.icc:
            _put(file, b"iCCP", carry.get("icc_name", b"ICC profile") + b"\0\0" + zlib.compress(frame.icc))
        for kind, body in carry.get("before", ()):
            if kind != b"sBIT" or carry["depth"] is frame.depth:
                _put(file, kind, body)
        for start in range(0, len(packed), _MOST_IDAT):
            _put(file, b"IDAT", packed[start : start + _MOST_IDAT])
        for kind, body in carry.get("after", ()):
            _put(file, kind, body)
        _put(file, b"IEND", b"")
    return ()


def _probe(path: Path, head: bytes) -> Probe:
    if len(head) < 33:
        raise cut_short(path)
    width, height, bits, colour = struct.unpack(">IIBB", head[16:26])
    if colour == 3:
        raise FrameError(path, "the PNG holds a palette, which poise doesn't correct; save it as grey or RGB")
    if bits not in (8, 16):
        raise FrameError(path, f"the PNG holds {bits} bit, which poise doesn't correct; save it as 8 or 16 bit")
    depth = Depth.U8 if bits == 8 else Depth.U16
    return checked(path, Probe(width, height, depth, _CHANNELS[colour], False, "png"))


def _critical(path: Path, data: bytes) -> bytes:
    """The chunks that make up the picture: what libpng has to say about others would go straight to the terminal."""
    view, at, kept = memoryview(data), len(_SIGNATURE), [memoryview(_SIGNATURE)]
    for kind, _ in _chunks(path, data):
        (length,) = struct.unpack_from(">I", data, at)
        if kind[:1].isupper():
            kept.append(view[at : at + 12 + length])
        at += 12 + length
    return b"".join(kept)


def _chunks(path: Path, data: bytes) -> Iterator[tuple[bytes, bytes]]:
    """Every chunk up to IEND as (type, content); a file that ends before it is an error."""
    at, kind = len(_SIGNATURE), b""
    while kind != b"IEND":
        if at + 12 > len(data):
            raise cut_short(path)
        (length,) = struct.unpack_from(">I", data, at)
        kind = data[at + 4 : at + 8]
        if at + 12 + length > len(data):
            raise cut_short(path)
        yield kind, b"" if kind == b"IDAT" else data[at + 8 : at + 8 + length]
        at += 12 + length


def _packed(frame: Frame) -> Any:
    """The zlib stream of the filtered rows; one filter for the picture, the one that leaves less on a few rows."""
    step = frame.channels * frame.depth.dtype.itemsize
    stored = frame.depth.dtype.newbyteorder(">")
    rows = np.ascontiguousarray(frame.pixels, stored).view(np.uint8).reshape(frame.height, frame.width * step)
    few = slice(None, None, max(1, frame.height // 64))
    filtered = np.empty((frame.height, frame.width * step + 1), np.uint8)
    if _cost(rows[1:][few] - rows[:-1][few]) < _cost(rows[1:, step:][few] - rows[1:, :-step][few]):
        filtered[:, 0] = _UP
        filtered[0, 1:] = rows[0]
        np.subtract(rows[1:], rows[:-1], out=filtered[1:, 1:])
    else:
        filtered[:, 0] = _SUB
        filtered[:, 1 : step + 1] = rows[:, :step]
        np.subtract(rows[:, step:], rows[:, :-step], out=filtered[:, step + 1 :])
    encode: Any = imagecodecs.deflate_encode  # its stub leaves out arrays
    return encode(filtered, level=_LEVEL)


def _cost(residue: Bytes) -> float:
    return float(np.abs(residue.view(np.int8).astype(np.int16)).mean()) if residue.size else np.inf


def _put(file: Any, kind: bytes, body: bytes | memoryview) -> None:
    file.write(struct.pack(">I", len(body)) + kind)
    file.write(body)
    file.write(struct.pack(">I", zlib.crc32(body, zlib.crc32(kind))))
