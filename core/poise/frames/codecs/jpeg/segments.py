"""The segments of a JPEG file, split without decoding, so that everything but the picture can be copied as bytes.

Source: ITU-T T.81 annex B (markers), G.1.1 (scans of a progressive picture); JFIF 1.02; Exif 2.32 4.5.
"""

import io
import struct
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from poise.frames.codecs.jpeg import further
from poise.frames.codecs.jpeg.markers import APP0, APP2, APP14, DRI, EOI, FRAMES, SOS, Marker, is_metadata, walk

EXIF, XMP, ICC, MPF = b"Exif\0\0", b"http://ns.adobe.com/x", b"ICC_PROFILE\0", b"MPF\0"
_SEQUENTIAL = frozenset((0xC0, 0xC1))
_FULL = b"\0\x3f\0"
"""The end of the scan header of a sequential picture: all coefficients of a block, at full precision."""

Segment = tuple[int, bytes]
"""A marker's second byte, and the content of its segment."""


@dataclass(frozen=True)
class Parts:
    """The parts of a JPEG file.

    Attributes:
        metadata: its application segments and comments, in order.
        frame: the marker of its coding, and the frame header.
        restart: MCUs between restart markers; 0 for none.
        scans: the headers of its scans.
        trailing: the data after the end of the picture, without further pictures.
        further: the number of further pictures found there.
        faults: notes on violations of the standard that don't damage the picture.
    """

    metadata: tuple[Segment, ...]
    frame: Segment
    restart: int
    scans: tuple[bytes, ...]
    trailing: bytes
    further: int
    faults: tuple[str, ...]

    @property
    def components(self) -> list[tuple[int, tuple[int, int], int]]:
        """The identifier, the sampling across and down, and the quantisation table of each component."""
        body = self.frame[1]
        listed = [body[at : at + 3] for at in range(6, 6 + 3 * body[5], 3)]
        return [(name, (sampling >> 4, sampling & 15), table) for name, sampling, table in listed]

    @property
    def complete(self) -> bool:
        """Whether the scans together hold every coefficient of every component at full precision."""
        given = set()
        for scan in self.scans:
            first, last, precision = _FULL if self.frame[0] in _SEQUENTIAL else scan[-3:]
            if precision & 15 == 0:
                given |= {(name, place) for name in scan[1:-3:2] for place in range(first, last + 1)}
        return len(given) >= 64 * len(self.components)

    @property
    def ratio(self) -> tuple[int, int]:
        """The subsampling across and down of all components but the first; (0, 0) if they differ."""
        (_, first, _), *others = self.components
        ratios = {(first[0] / across, first[1] / down) for _, (across, down), _ in others} or {(1.0, 1.0)}
        across, down = ratios.pop() if len(ratios) == 1 else (0.0, 0.0)
        return (int(across), int(down)) if across.is_integer() and down.is_integer() else (0, 0)

    @property
    def rgb(self) -> bool:
        """Whether three components are RGB, decided as libjpeg does (libjpeg.txt, "Special color spaces")."""
        if len(self.components) != 3 or any(_is_jfif(*one) for one in self.metadata):
            return False
        for mark, body in self.metadata:
            if mark == APP14 and body[:5] == b"Adobe" and len(body) >= 12:
                return body[11] == 0
        return bytes(name for name, *_ in self.components) == b"RGB"


def parse(data: bytes) -> tuple[Parts, bytes]:
    """The parts of a whole file, and its picture alone: the file without data that doesn't affect its pixels.

    Bytes between segments that belong to none are left out, as libjpeg does. The picture ends with a marker even if the
    file doesn't.

    Raises:
        ValueError: the file has no picture, or ends inside a segment.
    """
    metadata: list[Segment] = []
    scans: list[bytes] = []
    faults: dict[str, None] = {}
    pictures: list[tuple[int, int]] = []
    alone = [b"\xff\xd8"]
    frame, restart, at, coded = None, 0, 2, False
    for marker in _walk(data):
        mark, body = marker.code, data[marker.body : marker.end]
        if coded:
            alone.append(data[at : marker.start])
        elif data[at : marker.start].strip(b"\xff"):
            faults["not kept: bytes between its segments that belong to none of them"] = None
        at, coded = marker.end, mark == SOS
        if mark == EOI:
            break
        if mark == SOS:
            if frame is None:
                break
            if frame[0] in _SEQUENTIAL and body[-3:] != _FULL:
                faults["a scan has the header of a progressive picture, but the picture is sequential"] = None
                body = body[:-3] + _FULL
            scans.append(body)
            alone.append(segment(mark, body))
        elif is_metadata(mark):
            metadata.append((mark, body))
            alone.append(_essential(mark, body))
            if mark == APP2 and body.startswith(MPF):
                pictures = further.spans(body, marker.body, data)
        else:
            alone.append(data[marker.start : marker.end])
            if mark in FRAMES and frame is None:
                frame = mark, body
            elif mark == DRI:
                (restart,) = struct.unpack(">H", body)
    else:
        faults["the end of the picture was not marked"] = None
        if coded:
            alone.append(data[at:])
            at = len(data)
    if frame is None or not scans:
        raise ValueError("holds no picture")
    parts = Parts(
        tuple(metadata),
        frame,
        restart,
        tuple(scans),
        further.without(data, at, pictures),
        sum(low >= at for low, _ in pictures),
        tuple(faults),
    )
    return parts, b"".join([*alone, b"\xff\xd9"])


def spliced(encoded: bytes, metadata: Sequence[Segment], trailing: bytes) -> list[bytes | memoryview]:
    """An encoded picture with its metadata replaced, as a list of pieces to write."""
    out: list[bytes | memoryview] = [encoded[:2]]
    out += [segment(mark, body) for mark, body in metadata]
    for marker in _walk(encoded):
        if marker.code == SOS:
            out.append(memoryview(encoded)[marker.start :])
            break
        if not is_metadata(marker.code):
            out.append(encoded[marker.start : marker.end])
    return [*out, trailing]


def segment(mark: int, body: bytes) -> bytes:
    """The bytes of a segment in a file."""
    return struct.pack(">BBH", 0xFF, mark, len(body) + 2) + body


def _walk(data: bytes) -> Iterator[Marker]:
    """The markers of a whole file.

    Raises:
        ValueError: the file ends inside a segment, or the length of one is impossible.
    """
    try:
        for marker in walk(io.BytesIO(data)):
            if not marker.body <= marker.end <= len(data) and marker.code != EOI:
                raise ValueError("is cut short, or one of its segments is damaged")
            yield marker
    except struct.error:
        raise ValueError("is cut short, or one of its segments is damaged") from None


def _is_jfif(mark: int, body: bytes) -> bool:
    return mark == APP0 and body.startswith(b"JFIF\0") and len(body) >= 14


def _essential(mark: int, body: bytes) -> bytes:
    """A segment that tells libjpeg how colour is stored, reduced to that; empty for others, which it may warn about."""
    if _is_jfif(mark, body):
        return segment(APP0, b"JFIF\0\1\1\0\0\1\0\1\0\0")
    if mark == APP14 and body.startswith(b"Adobe") and len(body) >= 12:
        return segment(APP14, body[:11] + bytes([min(body[11], 1)]))
    return b""
