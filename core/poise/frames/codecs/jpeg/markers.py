"""The markers of a JPEG file, one after the other, without decoding: the walk of both the guard and the codec.

Source: ITU-T T.81, B.1.1 markers.
"""

import re
import struct
from collections.abc import Iterator
from typing import BinaryIO, NamedTuple

SOI, EOI, SOS, DRI, COM = 0xD8, 0xD9, 0xDA, 0xDD, 0xFE
APP0, APP1, APP2, APP13, APP14 = 0xE0, 0xE1, 0xE2, 0xED, 0xEE
FRAMES = frozenset(range(0xC0, 0xD0)) - {0xC4, 0xC8, 0xCC}
"""Markers of frame headers, which give the size of the picture."""
_MARKER = re.compile(rb"\xff[^\x00\x01\xd0-\xd7\xff]", re.DOTALL)  # 0x01 and 0xD0 to 0xD7 stand alone
_PIECE = 1 << 20


class Marker(NamedTuple):
    """A marker and its segment.

    Attributes:
        code: the marker's second byte.
        start: where it starts in the file.
        body: where the content of its segment starts.
        end: where the segment says it ends; in a damaged file before `body`, or beyond the end of the file.
    """

    code: int
    start: int
    body: int
    end: int


def walk(file: BinaryIO) -> Iterator[Marker]:
    """The markers of a file after the first, SOI, up to EOI or the end; coded data and other bytes between are skipped.

    Raises:
        struct.error: the file ends inside the length of a segment.

    Example:
        >>> import io
        >>> [marker.end for marker in walk(io.BytesIO(b"\\xff\\xd8\\xff\\xfe\\0\\4hi\\xff\\xd9"))]
        [8, 10]
    """
    at = 2
    while (start := _find(file, at)) is not None:
        file.seek(start + 1)
        (code,) = file.read(1)
        if code == EOI:
            yield Marker(code, start, start + 2, start + 2)
            return
        (length,) = struct.unpack(">H", file.read(2))
        yield Marker(code, start, start + 4, start + 2 + length)
        at = start + 2 + max(length, 2)


def is_metadata(code: int) -> bool:
    """Whether a marker is of an application segment or a comment."""
    return APP0 <= code <= 0xEF or code == COM


def _find(file: BinaryIO, at: int) -> int | None:
    """Where the next marker starts; None at the end."""
    file.seek(at)
    while len(piece := file.read(_PIECE)) > 1:
        if found := _MARKER.search(piece):
            return at + found.start()
        at += len(piece) - 1  # a marker may cross the pieces
        file.seek(at)
    return None
