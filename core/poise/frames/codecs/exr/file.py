"""An OpenEXR file as its headers and compressed chunks: taken apart without decoding, and put together again.

So attributes of any type, and whole parts, go from file to file bit for bit, known to a library or not.

Source: "OpenEXR File Layout" (openexr.com): version field, headers, chunk offset tables, chunks.
"""

import struct
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import BinaryIO

MAGIC = b"\x76\x2f\x31\x01"
TILED, DEEP, SEVERAL = 0x200, 0x800, 0x1000
_MOST_CHUNKS = 2**24

Attributes = Mapping[bytes, tuple[bytes, bytes]]
"""Of one header: name to (type, value), in the file's order."""


@dataclass(frozen=True)
class Part:
    """One picture of a file.

    Attributes:
        attributes: its header.
        chunks: (place in the offset table, content) in the file's order; empty when only headers were read.
    """

    attributes: Attributes
    chunks: Sequence[tuple[int, memoryview]] = ()


def headers(data: bytes) -> tuple[int, list[Attributes], int]:
    """The version field with its flags, all headers, and where they end.

    Raises:
        ValueError: it is no OpenEXR file, or it ends within the headers.
    """
    if data[:4] != MAGIC or len(data) < 8:
        raise ValueError("it doesn't begin as an OpenEXR file")
    (version,), at = struct.unpack_from("<I", data, 4), 8
    found: list[Attributes] = []
    while True:
        header, at = _header(data, at)
        found.append(header)
        if not version & SEVERAL:
            return version, found, at
        if data[at : at + 1] == b"\0":
            return version, found, at + 1


def parse(data: bytes) -> tuple[int, list[Part]]:
    """The version field and all parts of a whole file.

    Raises:
        ValueError: a header or a chunk is missing or goes beyond the end.
    """
    version, found, at = headers(data)
    tables = []
    for header in found:
        count = struct.unpack("<i", header[b"chunkCount"][1])[0] if version & SEVERAL else _reach(data, at)
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
    """Writes a file of these parts; the version field says whether there may be several."""
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
    """Each channel's name, pixel type (0 uint, 1 half, 2 float) and sampling in x and y."""
    for name, rest in _listed(attributes):
        kind, _, x, y = struct.unpack("<iIii", rest)
        yield name, kind, (x, y)


def retyped(attributes: Attributes, names: Sequence[bytes], kind: int) -> tuple[bytes, bytes]:
    """The attribute `channels` once these channels have another pixel type."""
    listed = [
        name + b"\0" + (struct.pack("<i", kind) + rest[4:] if name in names else rest)
        for name, rest in _listed(attributes)
    ]
    return b"chlist", b"".join(listed) + b"\0"


def _listed(attributes: Attributes) -> Iterator[tuple[bytes, bytes]]:
    value, at = attributes[b"channels"][1], 0
    while value[at : at + 1] != b"\0":
        name, at = _text(value, at)
        if at + 16 > len(value):
            raise ValueError("the list of channels is cut short")
        yield name, value[at : at + 16]
        at += 16


def _header(data: bytes, at: int) -> tuple[Attributes, int]:
    header: dict[bytes, tuple[bytes, bytes]] = {}
    while data[at : at + 1] != b"\0":
        name, at = _text(data, at)
        kind, at = _text(data, at)
        (length,) = struct.unpack_from("<i", data, at) if at + 4 <= len(data) else (-1,)
        at += 4
        if length < 0 or at + length > len(data):
            raise ValueError("the header is cut short")
        header[name] = kind, data[at : at + length]
        at += length
    return header, at + 1


def _text(data: bytes, at: int) -> tuple[bytes, int]:
    end = data.find(b"\0", at, at + 256)
    if end < 0:
        raise ValueError("the header is damaged or cut short")
    return data[at:end], end + 1


def _reach(data: bytes, start: int) -> int:
    """How many offsets the table of a file of one part has: it ends where the first chunk starts."""
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
        size = 16 if tiled else 4  # its place in the picture
        if deep:
            size += 24 + sum(struct.unpack_from("<QQ", data, at + size))
        else:
            size += 4 + struct.unpack_from("<I", data, at + size)[0]
    except struct.error as fault:
        raise ValueError("a chunk is cut short") from fault
    if at + size > len(data):
        raise ValueError("a chunk is cut short")
    return data[at : at + size]
