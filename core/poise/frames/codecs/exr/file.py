"""The headers and compressed chunks of an OpenEXR file: split without decoding, and assembled again.

So attributes of any type and whole parts are copied bit for bit, whether a library knows them or not.

Source: "OpenEXR File Layout" (openexr.com): version field, headers, chunk offset tables, chunks.
"""

import io
import struct
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import BinaryIO

MAGIC = b"\x76\x2f\x31\x01"
TILED, DEEP, SEVERAL = 0x200, 0x800, 0x1000
_VERSION = 2
_MOST_CHUNKS = 2**24
_LONGEST = 256

Attributes = Mapping[bytes, tuple[bytes, bytes]]
"""The attributes of one part: name to (type, value), in the file's order."""


@dataclass(frozen=True)
class Part:
    """One picture of a file.

    Attributes:
        attributes: its header.
        chunks: (place in the offset table, content), in the file's order.
    """

    attributes: Attributes
    chunks: Sequence[tuple[int, memoryview]]


def headers(file: BinaryIO, count: Callable[[int, str], None] | None = None) -> tuple[int, list[Attributes]]:
    """The version field with its flags, and the attributes of every part; leaves the file at their end.

    Args:
        count: called with the size and the name of each attribute before its value is read; may raise.

    Raises:
        ValueError: the version is unknown, or an attribute is longer than the file.
        struct.error: the file ends inside the headers.
    """
    size = file.seek(0, io.SEEK_END)
    file.seek(4)
    (version,) = struct.unpack("<I", file.read(4))
    if version & 0xFF != _VERSION:
        said = f"its header says version {version & 0xFF}, and OpenEXR has {_VERSION}"
        raise ValueError(f"{said}; it is damaged, copy it again")
    found: list[Attributes] = []
    while attributes := _header(file, size, count):
        found.append(attributes)
        if not version & SEVERAL:
            break
    if not found:
        raise struct.error
    return version, found


def parse(data: bytes) -> tuple[int, list[Part]]:
    """The version field and all parts of a whole file.

    Raises:
        ValueError: a chunk is missing or extends beyond the end.
        ValueError, struct.error: as `headers`.
    """
    file = io.BytesIO(data)
    version, found = headers(file)
    at = file.tell()
    tables = []
    for header in found:
        count = struct.unpack("<i", header[b"chunkCount"][1])[0] if version & SEVERAL else _table_length(data, at)
        if not 0 < count <= _MOST_CHUNKS or at + 8 * count > len(data):
            raise ValueError("the table of chunks is cut short")
        tables.append(struct.unpack_from(f"<{count}Q", data, at))
        at += 8 * count
    view = memoryview(data)
    parts = []
    for number, (header, table) in enumerate(zip(found, tables, strict=True)):
        order = sorted(range(len(table)), key=table.__getitem__)
        chunks = [(place, _chunk(view, table[place], version, number, header, at)) for place in order]
        parts.append(Part(header, chunks))
    return version, parts


def build(file: BinaryIO, version: int, parts: Sequence[Part]) -> None:
    """Write a file with these parts; the version field says whether there may be several."""
    several = bool(version & SEVERAL)
    front = MAGIC + struct.pack("<I", version)
    for part in parts:
        for name, (kind, value) in part.attributes.items():
            front += name + b"\0" + kind + b"\0" + struct.pack("<i", len(value)) + value
        front += b"\0"
    front += b"\0" * several
    at = len(front) + 8 * sum(len(part.chunks) for part in parts)
    file.write(front)
    for part in parts:
        table = [0] * len(part.chunks)
        for place, content in part.chunks:
            table[place] = at
            at += len(content) + 4 * several
        file.write(struct.pack(f"<{len(table)}Q", *table))
    for number, part in enumerate(parts):
        for _, content in part.chunks:
            if several:
                file.write(struct.pack("<i", number))
            file.write(content)


def channels(attributes: Attributes) -> Iterator[tuple[bytes, int, tuple[int, int]]]:
    """The name of each channel, its pixel type (0 uint, 1 half, 2 float) and its sampling in x and y.

    Raises:
        ValueError: the list is damaged.
    """
    for name, rest in _listed(attributes):
        kind, _, x, y = struct.unpack("<iIii", rest)
        yield name, kind, (x, y)


def retyped(attributes: Attributes, kinds: Mapping[bytes, int]) -> tuple[bytes, bytes]:
    """The attribute `channels` with other pixel types for some of them."""
    listed = [
        name + b"\0" + (struct.pack("<i", kinds[name]) + rest[4:] if name in kinds else rest)
        for name, rest in _listed(attributes)
    ]
    return b"chlist", b"".join(listed) + b"\0"


def _listed(attributes: Attributes) -> Iterator[tuple[bytes, bytes]]:
    value, at = attributes[b"channels"][1], 0
    while value[at : at + 1] != b"\0":
        end = value.find(b"\0", at) + 1
        if not end or end + 16 > len(value):
            raise ValueError("the list of channels is damaged")
        yield value[at : end - 1], value[end : end + 16]
        at = end + 16


def _header(file: BinaryIO, size: int, count: Callable[[int, str], None] | None) -> Attributes:
    """The attributes of one part; empty after the last part."""
    found: dict[bytes, tuple[bytes, bytes]] = {}
    while name := _text(file):
        kind = _text(file)
        (length,) = struct.unpack("<I", file.read(4))
        said = f"the attribute {name.decode('latin-1')[:40]}"
        if length > size - file.tell():
            more = f"{said} claims {length:,} bytes, more than the file holds"
            raise ValueError(f"{more}; its header is damaged or cut short, copy it again")
        if count:
            count(length, said)
        found[name] = kind, file.read(length)
    return found


def _text(file: BinaryIO) -> bytes:
    start = file.tell()
    text, end, _ = file.read(_LONGEST).partition(b"\0")
    if not end:
        raise struct.error
    file.seek(start + len(text) + 1)
    return text


def _table_length(data: bytes, start: int) -> int:
    """The number of offsets in the table of a file with one part, which ends where the first chunk starts."""
    first, at = len(data), start
    while at < first and at + 8 <= len(data):
        first = min(first, struct.unpack_from("<Q", data, at)[0])
        at += 8
    return (first - start) // 8 if first == at else 0


def _chunk(data: memoryview, at: int, version: int, number: int, header: Attributes, start: int) -> memoryview:
    """The content of one chunk, without the number of its part."""
    kind = header.get(b"type", (b"", b""))[1]
    several, deep = bool(version & SEVERAL), kind.startswith(b"deep")
    tiled = kind.endswith(b"tile") or kind == b"tiledimage" or (not several and version & TILED)
    if at < start:
        raise ValueError("a chunk is missing")
    try:
        if several and struct.unpack_from("<i", data, at)[0] != number:
            raise ValueError("a chunk is missing")
        at += 4 * several
        size = 16 if tiled else 4  # the coordinates
        if deep:
            size += 24 + sum(struct.unpack_from("<QQ", data, at + size))
        else:
            size += 4 + struct.unpack_from("<I", data, at + size)[0]
    except struct.error as fault:
        raise ValueError("a chunk is cut short") from fault
    if at + size > len(data):
        raise ValueError("a chunk is cut short")
    return data[at : at + size]
