"""DPX of 8, 10, 12 and 16 bit: RGB, RGBA and luma in one image element, read and written exactly.

Kept: byte for byte the whole header with film and television data, timecode and user data, and any data after the
picture; byte order and packing. The stamp is added to the creator if there is room. Refused by name: other elements
(YCbCr, ABGR, several), run-length encoding, encryption, signed and float values.

Source: SMPTE ST 268-1, clause 5 (file header), tables 1 to 5 and annex C (packing).
"""

import math
import struct
from dataclasses import replace
from pathlib import Path
from types import MappingProxyType

import numpy as np

from poise.errors import FrameError
from poise.frames.codecs import carried
from poise.frames.codecs.dpx import words
from poise.frames.codecs.dpx.header import CHANNELS, LENGTH, UNSET, parse
from poise.frames.codecs.shared import Probe, cut_short
from poise.frames.frame import Depth, Frame
from poise.frames.timing import UNTIMED, Timing, from_digits, from_number, to_digits

_MOST_AFTER = 2**26
_CREATOR = slice(160, 260)
_ENCODING = slice(801, 803)
_CODES = ((784, 0), (792, 1))
"""Places of the reference low and high data code of the element, each with its default as a share of full scale."""
_LEVELS = (1952, 1964)
"""Places of the codes of black and white in the television header, floats."""
_TIMECODE = 1920
"""Place of the timecode in the television header, eight digits of four bits."""
_RATES = (1940, 1724)
"""Places of the frame rate in the television and film headers, floats."""
_DESCRIPTORS = {channels: code for code, channels in CHANNELS.items()}


def probe(path: Path) -> Probe:
    with path.open("rb") as file:
        return parse(path, file.read(LENGTH)).probe


def reference_codes(path: Path) -> tuple[int, int, int] | None:
    """Reference low and high data code in a header, and the bits of a code; None if they are not set."""
    try:
        with path.open("rb") as file:
            head = file.read(LENGTH)
        bits = parse(path, head).probe.depth.bits
    except (OSError, FrameError):
        return None
    order = ">" if head[:4] == b"SDPX" else "<"
    low, high = (int(struct.unpack_from(f"{order}I", head, offset)[0]) for offset, _ in _CODES)
    return None if UNSET in (low, high) else (low, high, bits)


def read(path: Path) -> Frame:
    with path.open("rb") as file:
        header = parse(path, file.read(LENGTH)).fitted(path.stat().st_size)
        file.seek(0)
        front = file.read(header.offset)
        data = np.fromfile(file, np.uint8, header.layout.size)
        left = path.stat().st_size - file.tell()
        after = file.read(left) if left <= _MOST_AFTER else None
    if len(front) < header.offset or data.size < header.layout.size:
        raise cut_short(path)
    if after is None:
        raise FrameError(path, f"over {_MOST_AFTER >> 20} MB follow the picture; its header may be damaged")
    size = (header.probe.height, header.probe.width, header.probe.channels)
    carry = {"format": "dpx", "front": front, "padding": header.padding, "depth": header.probe.depth, "size": size}
    carry |= {"after": after, "holds": ("film and television headers", "user data")[: 1 + (len(front) > LENGTH)]}
    pixels = words.unpack(data, header.layout).reshape(size)
    return Frame(pixels, header.probe.depth, timing=_timing(front, header.order), carry=MappingProxyType(carry))


def _timing(front: bytes, order: str) -> Timing:
    """Timecode and frame rate of the television header, or the frame rate of the film header."""
    if len(front) < LENGTH:
        return UNTIMED
    (word,) = struct.unpack_from(f"{order}I", front, _TIMECODE)
    rates = (from_number(*struct.unpack_from(f"{order}f", front, offset)) for offset in _RATES)
    rate = next((one for one in rates if one), None)
    return Timing(rate, from_digits(word) if word or rate else "")  # all zero is a header that nobody filled in


def write(path: Path, frame: Frame, stamp: str | None) -> tuple[str, ...]:
    carry = carried(frame, "dpx")
    same = carry.get("size") == frame.pixels.shape
    front = bytearray(carry["front"]) if same else _new_front(frame)
    order = ">" if front[:4] == b"SDPX" else "<"
    recounted = same and carry["depth"] is not frame.depth
    if recounted:
        _set_depth(front, order, frame.depth, carry["depth"])
    header = parse(path, bytes(front[:LENGTH]))
    if same and not recounted:
        header = replace(header, padding=carry["padding"])
    after = carry["after"] if same else b""
    if recounted or not same:
        struct.pack_into(f"{order}I", front, 16, header.offset + header.layout.size + len(after))
    notes = _stamped(front, stamp) if stamp else ()
    if same and frame.recoded and any(front[_ENCODING]):
        front[_ENCODING] = bytes((0, 0))  # user-defined
        notes += ("not kept in another encoding: transfer and colorimetric characteristic",)
    with path.open("wb") as file:
        file.write(front)
        words.pack(frame.pixels.reshape(frame.height, -1), header.layout).tofile(file)
        file.write(after)
    return notes


def _stamped(front: bytearray, stamp: str) -> tuple[str, ...]:
    """Add a stamp to the creator in a header; returns a note if there is no room for it."""
    said, _, _ = bytes(front[_CREATOR]).partition(b"\0")
    said = b"; ".join([said] * bool(said.strip(b"\xff")) + [stamp.encode()])
    room = _CREATOR.stop - _CREATOR.start
    if len(said) >= room:
        return (f"not stamped: the creator in its header leaves no room for {stamp!r}",)
    front[_CREATOR] = said.ljust(room, b"\0")
    return ()


def _new_front(frame: Frame) -> bytearray:
    """A new header for a picture of another format: big-endian, with what the standard requires, timecode and rate."""
    front = bytearray(b"\xff" * LENGTH)
    struct.pack_into(">4sI8sIIIII", front, 0, b"SDPX", LENGTH, b"V2.0", 0, 1, 1664, 384, 0)
    for start, stop in ((36, 660), (664, 768), (820, 852), (1356, 1408), (1432, 1640), (1664, 1712), (1732, 1920)):
        front[start:stop] = bytes(stop - start)
    struct.pack_into(">HHII", front, 768, 0, 1, frame.width, frame.height)
    struct.pack_into(">I", front, 780, 0)
    struct.pack_into(">BBB", front, 800, _DESCRIPTORS[frame.channels], 0, 0)
    struct.pack_into(">HIII", front, 806, 0, LENGTH, 0, 0)
    if (word := to_digits(frame.timing.timecode)) is not None:
        struct.pack_into(">I", front, _TIMECODE, word)
    if frame.timing.rate:
        struct.pack_into(">f", front, _RATES[0], float(frame.timing.rate))
    _set_depth(front, ">", frame.depth, frame.depth)
    return front


def _set_depth(front: bytearray, order: str, depth: Depth, old: Depth) -> None:
    """Set the bit depth and its usual packing (filled, method A), and scale the codes in the header to it."""
    front[803] = depth.bits
    struct.pack_into(f"{order}H", front, 804, 1 if depth in (Depth.U10, Depth.U12) else 0)
    scale = depth.maximum / old.maximum
    for offset, default in _CODES:
        (code,) = struct.unpack_from(f"{order}I", front, offset)
        given = code if code != UNSET and code <= old.maximum else default * old.maximum
        struct.pack_into(f"{order}I", front, offset, round(given * scale))
    for offset in _LEVELS:
        (level,) = struct.unpack_from(f"{order}f", front, offset) if len(front) >= LENGTH else (math.nan,)
        if math.isfinite(level):
            struct.pack_into(f"{order}f", front, offset, level * scale)
