"""A JPEG file as its segments: taken apart without decoding, so that what isn't the picture is carried across as bytes.

Source: ITU-T T.81 annex B (markers); JFIF 1.02; Exif 2.32 4.5; CIPA DC-007 (multi-picture format).
"""

import re
import struct
from collections.abc import Sequence
from dataclasses import dataclass

SOI, EOI, SOS, DRI, COM = 0xD8, 0xD9, 0xDA, 0xDD, 0xFE
APP0, APP1, APP2, APP13, APP14 = 0xE0, 0xE1, 0xE2, 0xED, 0xEE
EXIF, XMP, ICC, MPF = b"Exif\0\0", b"http://ns.adobe.com/x", b"ICC_PROFILE\0", b"MPF\0"
_FRAMES = frozenset(range(0xC0, 0xD0)) - {0xC4, 0xC8, 0xCC}
_IN_SCAN = re.compile(rb"\xff[^\x00\xd0-\xd7\xff]")

Segment = tuple[int, bytes]
"""A marker's second byte, and the content of its segment."""


@dataclass(frozen=True)
class Parts:
    """A JPEG file.

    Attributes:
        beside: its application segments and comments, in order: all that isn't the picture.
        frame: the marker that says how it is coded, and its header.
        restart: MCUs between restart markers; 0 for none.
        trailing: what follows the end of the picture.
    """

    beside: tuple[Segment, ...]
    frame: Segment
    restart: int
    trailing: bytes

    @property
    def components(self) -> list[tuple[int, tuple[int, int], int]]:
        """Of each component: identifier, sampling across and down, number of its quantisation table."""
        body = self.frame[1]
        listed = [body[at : at + 3] for at in range(6, 6 + 3 * body[5], 3)]
        return [(name, (sampling >> 4, sampling & 15), table) for name, sampling, table in listed]

    @property
    def ratio(self) -> tuple[int, int]:
        """How many more samples across and down the first component has than the others; (0, 0) for a mixture."""
        (_, first, _), *others = self.components
        ratios = {(first[0] / across, first[1] / down) for _, (across, down), _ in others} or {(1.0, 1.0)}
        across, down = ratios.pop() if len(ratios) == 1 else (0.0, 0.0)
        return (int(across), int(down)) if across.is_integer() and down.is_integer() else (0, 0)

    @property
    def rgb(self) -> bool:
        """Whether three components are stored as RGB, as libjpeg decides it (libjpeg.txt, "Special color spaces")."""
        if len(self.components) != 3 or any(mark == APP0 and body[:5] == b"JFIF\0" for mark, body in self.beside):
            return False
        for mark, body in self.beside:
            if mark == APP14 and body[:5] == b"Adobe" and len(body) >= 12:
                return body[11] == 0
        return bytes(name for name, *_ in self.components) == b"RGB"


def parse(data: bytes) -> Parts:
    """The parts of a whole file.

    Raises:
        ValueError: it ends before its picture does, or has no picture.
    """
    beside: list[Segment] = []
    frame, restart, at = None, 0, 2
    while True:
        mark, body, at = _segment(data, at)
        if APP0 <= mark <= 0xEF or mark == COM:
            beside.append((mark, body))
        elif mark in _FRAMES and frame is None:
            frame = mark, body
        elif mark == DRI:
            (restart,) = struct.unpack(">H", body)
        elif mark == SOS:
            found = _IN_SCAN.search(data, at)
            if found is None:
                raise ValueError("the picture has no end")
            at = found.start()
        elif mark == EOI:
            break
    if frame is None:
        raise ValueError("it holds no picture")
    return Parts(tuple(beside), frame, restart, data[at:])


def spliced(encoded: bytes, beside: Sequence[Segment], trailing: bytes) -> list[bytes | memoryview]:
    """A coded picture with other segments in the place of its own, in pieces to be written."""
    out: list[bytes | memoryview] = [encoded[:2]]
    out += [struct.pack(">BBH", 0xFF, mark, len(body) + 2) + body for mark, body in beside]
    at = 2
    while encoded[at + 1] != SOS:
        mark, _, end = _segment(encoded, at)
        if not (APP0 <= mark <= 0xEF or mark == COM):
            out.append(encoded[at:end])
        at = end
    return [*out, memoryview(encoded)[at:], trailing]


def _segment(data: bytes, at: int) -> tuple[int, bytes, int]:
    """The marker at a place, its content, and where it ends."""
    if data[at : at + 1] != b"\xff":
        raise ValueError("a segment is damaged or cut short")
    while data[at + 1 : at + 2] == b"\xff":  # fill bytes
        at += 1
    mark = data[at + 1] if at + 1 < len(data) else 0
    if mark == EOI:
        return mark, b"", at + 2
    (length,) = struct.unpack_from(">H", data, at + 2) if at + 4 <= len(data) else (0,)
    end = at + 2 + length
    if length < 2 or end > len(data):
        raise ValueError("a segment is damaged or cut short")
    return mark, data[at + 4 : end], end
