"""DPX of 8, 10, 12 and 16 bit: RGB, RGBA and luma in one image element; every code is kept as it stands.

Kept: the whole header with film and television data, timecode and user data, and what stands after the picture, byte
for byte; byte order, packing. The stamp is added to the creator, where there is room. Refused by name: other elements
(YCbCr, ABGR, several), run-length encoding, encryption, signed and float values.

Source: SMPTE ST 268-1, clause 5 (file header), tables 1 to 5 and annex C (packing).
"""

import math
import struct
from dataclasses import dataclass, replace
from pathlib import Path
from types import MappingProxyType

import numpy as np

from poise.errors import FrameError
from poise.frames.codecs import carried
from poise.frames.codecs.dpx import words
from poise.frames.codecs.shared import Probe, checked, cut_short
from poise.frames.frame import Depth, Frame

_HEADER = 2048
_MOST_AFTER = 2**26
_CREATOR = slice(160, 260)
_ENCODING = slice(801, 803)
_CODES = ((784, 0), (792, 1))
"""Reference low and high data code of the element, with what they are by default, as a share of full scale."""
_LEVELS = (1952, 1964)
"""Codes of black and white in the television header, floats."""
_UNSET = 0xFFFFFFFF
_CHANNELS = {6: 1, 50: 3, 51: 4}
_DESCRIPTORS = {channels: code for code, channels in _CHANNELS.items()}
_OTHER = {
    0: "undefined",
    1: "red",
    2: "green",
    3: "blue",
    4: "alpha",
    7: "colour difference",
    8: "depth",
    9: "composite",
}
_DEPTHS = {8: Depth.U8, 10: Depth.U10, 12: Depth.U12, 16: Depth.U16}


@dataclass(frozen=True)
class _Header:
    order: str
    offset: int
    probe: Probe
    packing: int
    padding: int

    @property
    def layout(self) -> words.Layout:
        channels, bits = self.probe.channels, self.probe.depth.bits
        values = self.probe.width * channels
        return words.Layout(self.order, values, self.probe.height, bits, self.packing, self.padding, luma=channels == 1)

    def fitted(self, size: int) -> "_Header":
        """The same, with rows that end on a 32-bit word where only that agrees with the file's size."""
        padding = -self.layout.row_bytes % 4
        padded = replace(self, padding=padding)
        return padded if not self.padding and size == self.offset + padded.layout.size else self


def probe(path: Path) -> Probe:
    with path.open("rb") as file:
        return _parse(path, file.read(_HEADER)).probe


def reference_codes(path: Path) -> tuple[int, int, int] | None:
    """Reference low and high data code in a header, and the bits of a code; None if they are not set."""
    try:
        with path.open("rb") as file:
            head = file.read(_HEADER)
        bits = _parse(path, head).probe.depth.bits
    except (OSError, FrameError):
        return None
    order = ">" if head[:4] == b"SDPX" else "<"
    low, high = (int(struct.unpack_from(f"{order}I", head, offset)[0]) for offset, _ in _CODES)
    return None if _UNSET in (low, high) else (low, high, bits)


def read(path: Path) -> Frame:
    with path.open("rb") as file:
        header = _parse(path, file.read(_HEADER)).fitted(path.stat().st_size)
        file.seek(0)
        front = file.read(header.offset)
        data = np.fromfile(file, np.uint8, header.layout.size)
        left = path.stat().st_size - file.tell()
        after = file.read(left) if left <= _MOST_AFTER else None
    if len(front) < header.offset or data.size < header.layout.size:
        raise cut_short(path)
    if after is None:
        raise FrameError(path, f"over {_MOST_AFTER >> 20} MB stand after the picture; its header may be damaged")
    size = (header.probe.height, header.probe.width, header.probe.channels)
    carry = {"format": "dpx", "front": front, "padding": header.padding, "depth": header.probe.depth, "size": size}
    carry |= {"after": after, "holds": ("film and television headers", "user data")[: 1 + (len(front) > _HEADER)]}
    pixels = words.unpack(data, header.layout).reshape(size)
    return Frame(pixels, header.probe.depth, carry=MappingProxyType(carry))


def write(path: Path, frame: Frame, stamp: str | None) -> tuple[str, ...]:
    carry = carried(frame, "dpx")
    same = carry.get("size") == frame.pixels.shape
    front = bytearray(carry["front"]) if same else _new_front(frame)
    order = ">" if front[:4] == b"SDPX" else "<"
    recounted = same and carry["depth"] is not frame.depth
    if recounted:
        _set_depth(front, order, frame.depth, carry["depth"])
    header = _parse(path, bytes(front[:_HEADER]))
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
    """Adds a stamp to the creator in a header; returns a note where there is no room for it."""
    said, _, _ = bytes(front[_CREATOR]).partition(b"\0")
    said = b"; ".join([said] * bool(said.strip(b"\xff")) + [stamp.encode()])
    room = _CREATOR.stop - _CREATOR.start
    if len(said) >= room:
        return (f"not stamped: the creator in its header leaves no room for {stamp!r}",)
    front[_CREATOR] = said.ljust(room, b"\0")
    return ()


def _parse(path: Path, head: bytes) -> _Header:
    if len(head) < 820:
        raise cut_short(path)
    order = ">" if head[:4] == b"SDPX" else "<"

    def at(offset: int, kind: str) -> int:
        return int(struct.unpack_from(order + kind, head, offset)[0])

    def refuse(what: str) -> FrameError:
        return FrameError(path, f"the DPX holds {what}, which poise doesn't correct; save it as one RGB element")

    elements, descriptor, bits, packing = at(770, "H"), head[800], head[803], at(804, "H")
    if elements != 1:
        raise refuse(f"{elements} image elements")
    if descriptor not in _CHANNELS:
        raise refuse(f"an element of kind {descriptor} ({_OTHER.get(descriptor, 'YCbCr or another order')})")
    if bits not in _DEPTHS or at(780, "I") == 1:
        raise refuse(f"{'signed ' if at(780, 'I') == 1 else ''}values of {bits} bit")
    if at(806, "H") == 1:
        raise refuse("run-length encoding")
    if at(660, "I") not in (_UNSET, 0):
        raise refuse("encrypted data")
    if packing > 2:
        raise refuse(f"packing {packing}")
    width, height = at(772, "I"), at(776, "I")
    summary = checked(path, Probe(width, height, _DEPTHS[bits], _CHANNELS[descriptor], False, "dpx"))
    offset = at(808, "I") if at(808, "I") not in (_UNSET, 0) else at(4, "I")
    padding = at(812, "I") if at(812, "I") != _UNSET else 0
    if offset < 820 or padding > 2**20:
        raise FrameError(path, "its header is damaged; copy it again")
    return _Header(order, offset, summary, packing, padding)


def _new_front(frame: Frame) -> bytearray:
    """A header for a picture that was no DPX: big-endian, only what the standard asks for."""
    front = bytearray(b"\xff" * _HEADER)
    struct.pack_into(">4sI8sIIIII", front, 0, b"SDPX", _HEADER, b"V2.0", 0, 1, 1664, 384, 0)
    for start, stop in ((36, 660), (664, 768), (820, 852), (1356, 1408), (1432, 1640), (1664, 1712), (1732, 1920)):
        front[start:stop] = bytes(stop - start)
    struct.pack_into(">HHII", front, 768, 0, 1, frame.width, frame.height)
    struct.pack_into(">I", front, 780, 0)
    struct.pack_into(">BBB", front, 800, _DESCRIPTORS[frame.channels], 0, 0)
    struct.pack_into(">HIII", front, 806, 0, _HEADER, 0, 0)
    _set_depth(front, ">", frame.depth, frame.depth)
    return front


def _set_depth(front: bytearray, order: str, depth: Depth, old: Depth) -> None:
    """Bit depth, the usual packing for it (filled, method A), and the header's codes counted in it."""
    front[803] = depth.bits
    struct.pack_into(f"{order}H", front, 804, 1 if depth in (Depth.U10, Depth.U12) else 0)
    scale = depth.maximum / old.maximum
    for offset, default in _CODES:
        (code,) = struct.unpack_from(f"{order}I", front, offset)
        given = code if code != _UNSET and code <= old.maximum else default * old.maximum
        struct.pack_into(f"{order}I", front, offset, round(given * scale))
    for offset in _LEVELS:
        (level,) = struct.unpack_from(f"{order}f", front, offset) if len(front) >= _HEADER else (math.nan,)
        if math.isfinite(level):
            struct.pack_into(f"{order}f", front, offset, level * scale)
