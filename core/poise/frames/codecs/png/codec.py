"""PNG of 8 and 16 bit: decoded by libpng, encoded with libdeflate, which is twice as fast at the same size.

Kept: interlacing, and as bytes every chunk that is still true of the corrected picture, before or after it: the meaning
of values (gAMA, cHRM, sRGB, cICP, mDCV, cLLI, iCCP; sBIT and bKGD at the same depth), text, EXIF with a new thumbnail,
and all chunks that the specification calls safe to copy. Reported: what is left out, and that a transparent colour
(tRNS) became an alpha channel. Refused by name: palettes, 1, 2 and 4 bit, animation, damaged or unknown critical
chunks.
"""

import io
import struct
import zlib
from dataclasses import replace
from pathlib import Path
from types import MappingProxyType

import imagecodecs

from poise.errors import FrameError
from poise.frames.codecs import carried
from poise.frames.codecs.png.chunks import SIGNATURE, Chunk, chunks, critical, holds, kept, named, put, stamped
from poise.frames.codecs.png.pack import deinterlaced, packed
from poise.frames.codecs.png.transparent import NOTE, TRANSPARENT, for_alpha, transparent, with_alpha
from poise.frames.codecs.shared import Probe, checked, cut_short
from poise.frames.frame import Depth, Frame

_CHANNELS = {0: 1, 4: 2, 2: 3, 6: 4}
_MOST_IDAT = 2**30


def probe(path: Path) -> Probe:
    with path.open("rb") as file:
        found = _probe(path, file.read(33))
        return replace(found, channels=found.channels + 1) if transparent(file) else found


def read(path: Path) -> Frame:
    data = path.read_bytes()
    header = _probe(path, data)
    before: list[Chunk] = []
    after: list[Chunk] = []
    icc, listed, rest = None, before, b""
    damaged: list[bytes] = []
    clear = transparent(io.BytesIO(data))
    for kind, body in chunks(path, data):
        if kind == b"acTL":
            raise FrameError(path, "the PNG holds an animation, which poise doesn't correct; save it as a plain PNG")
        if kind == TRANSPARENT:
            damaged += [kind] * (clear is None)
            continue
        profile = _profile(body) if kind == b"iCCP" and body is not None else None
        if body is None or (kind == b"iCCP" and profile is None):
            damaged.append(kind)
            continue
        icc = profile or icc
        if kind == b"IDAT":
            listed = after
        elif not kind:
            rest = body
        elif kind not in (b"IHDR", b"IEND"):
            listed.append((kind, body))
    shape, own = (header.height, header.width, header.channels), critical(data)
    interlaced = data[28] == 1
    pixels = deinterlaced(own, shape, header.depth.dtype) if interlaced else imagecodecs.png_decode(own).reshape(shape)
    notes = tuple(f"not kept: the chunk {named(kind)}, which is damaged" for kind in dict.fromkeys(damaged))
    if clear:
        pixels, before, notes = with_alpha(pixels, clear, header.depth), for_alpha(before, header.depth), (NOTE, *notes)
    carry = {
        "format": "png",
        "depth": header.depth,
        "before": before,
        "after": after,
        "rest": rest,
        "interlaced": interlaced,
        "holds": holds(before + after),
        "source_notes": notes,
    }
    return Frame(pixels, header.depth, icc=icc, carry=MappingProxyType(carry))


def write(path: Path, frame: Frame, stamp: str | None) -> tuple[str, ...]:
    carry = carried(frame, "png")
    depth, rest, interlaced = carry.get("depth", frame.depth), carry.get("rest", b""), carry.get("interlaced", False)
    before, notes = kept(carry.get("before", []), frame, depth)
    after, more = kept(carry.get("after", []), frame, depth)
    notes |= more
    if frame.icc and not carry:
        before.insert(0, (b"iCCP", b"ICC profile\0\0" + zlib.compress(frame.icc)))
    if rest.strip(b"\0"):
        notes["data after the end of the picture was kept unchanged"] = None
    colour = {channels: code for code, channels in _CHANNELS.items()}[frame.channels]
    header = struct.pack(">IIBBBBB", frame.width, frame.height, frame.depth.bits, colour, 0, 0, interlaced)
    content = packed(frame, interlaced)
    with path.open("wb") as file:
        file.write(SIGNATURE)
        put(file, b"IHDR", header)
        for kind, body in stamped(before, stamp) if stamp else before:
            put(file, kind, body)
        for start in range(0, len(content), _MOST_IDAT):
            put(file, b"IDAT", content[start : start + _MOST_IDAT])
        for kind, body in after:
            put(file, kind, body)
        put(file, b"IEND", b"")
        file.write(rest)
    return tuple(notes)


def _profile(body: bytes) -> bytes | None:
    """The profile in the content of iCCP; None if it can't be unpacked."""
    try:
        return zlib.decompress(body.partition(b"\0")[2][1:])
    except zlib.error:
        return None


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
