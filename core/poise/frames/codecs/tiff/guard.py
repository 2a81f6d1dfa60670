"""TIFF: directories and their tags, and the pictures that they describe.

Source: TIFF 6.0, section 2 (image file directory) and section 15 (tiles); Exif 2.32, 4.6.3 for its directories.
"""

import struct
from collections.abc import Mapping
from typing import BinaryIO

from poise.errors import FrameError
from poise.frames import limits

_SIZES = {1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 6: 1, 7: 1, 8: 2, 9: 4, 10: 8, 11: 4, 12: 8, 13: 4, 16: 8, 17: 8, 18: 8}
_CODES = {1: "B", 3: "H", 4: "I", 13: "I", 16: "Q", 18: "Q"}
_WIDTH, _HEIGHT, _BITS, _COMPRESSION, _CHANNELS, _DEPTH = 256, 257, 258, 259, 277, 32997
_TILE_WIDTH, _TILE_HEIGHT, _TILE_DEPTH = 322, 323, 32998
_DIRECTORIES = (330, 34665, 34853, 40965)
_READ = {_WIDTH, _HEIGHT, _BITS, _COMPRESSION, _CHANNELS, _DEPTH, _TILE_WIDTH, _TILE_HEIGHT, _TILE_DEPTH, *_DIRECTORIES}
_RATIOS = {1: 1, 8: limits.DEFLATE, 32946: limits.DEFLATE}
_MOST_READ = 4096

Tags = Mapping[int, tuple[int, ...]]


def check(file: BinaryIO, size: int, metadata: limits.Metadata) -> None:
    head = file.read(16)
    order = "<" if head[:2] == b"II" else ">"
    big = struct.unpack_from(f"{order}H", head, 2)[0] == 43
    (first,) = struct.unpack_from(f"{order}{'Q' if big else 'I'}", head, 8 if big else 4)
    pages, below = _chain(file, size, metadata, order, big, first, set())
    for page in pages:
        _picture(metadata, size, page)
    known: set[int] = set()
    while below:
        offset = below.pop()
        if offset not in known:
            below += _chain(file, size, metadata, order, big, offset, known)[1]


def _chain(
    file: BinaryIO, size: int, metadata: limits.Metadata, order: str, big: bool, offset: int, known: set[int]
) -> tuple[list[Tags], list[int]]:
    """The directories from an offset on, and the offsets of those below them."""
    found: list[Tags] = []
    below: list[int] = []
    while 0 < offset < size:
        if offset in known:
            raise FrameError(metadata.path, "the directories of the TIFF go round in a circle; copy it again")
        known.add(offset)
        if len(known) > limits.MOST_PARTS:
            limit = f"more than {limits.MOST_PARTS} directories, over the limit"
            raise FrameError(metadata.path, f"the TIFF holds {limit}; save one page a file")
        tags, offset = _directory(file, metadata, order, big, offset)
        found.append(tags)
        below += [place for code in _DIRECTORIES for place in tags.get(code, ())]
    return found, below


def _directory(file: BinaryIO, metadata: limits.Metadata, order: str, big: bool, offset: int) -> tuple[Tags, int]:
    """The tags of a directory that are needed here, and the offset of the next one."""
    counts, row, place = ("Q", "HHQ8s", "Q") if big else ("H", "HHI4s", "I")
    wide = struct.calcsize(order + row)
    file.seek(offset)
    (count,) = struct.unpack(order + counts, file.read(8 if big else 2))
    if count > limits.MOST_BLOCKS:
        raise FrameError(metadata.path, f"the TIFF says it has {count:,} tags; it is damaged, copy it again")
    rows = file.read(count * wide)
    (after,) = struct.unpack(order + place, file.read(8 if big else 4).rjust(8 if big else 4, b"\0"))
    tags: dict[int, tuple[int, ...]] = {}
    for code, kind, number, value in struct.iter_unpack(order + row, rows[: len(rows) // wide * wide]):
        length = number * _SIZES.get(kind, 1)
        metadata.add(length, f"the tag {code}")
        if code in _READ and kind in _CODES and length <= _MOST_READ:
            if length > len(value):
                file.seek(struct.unpack(order + place, value)[0])
                value = file.read(length)
            value = value[:length]
            tags[code] = struct.unpack(f"{order}{len(value) // _SIZES[kind]}{_CODES[kind]}", value)
    return tags, after


def _picture(metadata: limits.Metadata, size: int, tags: Tags) -> None:
    def of(code: int, default: int = 1) -> int:
        return max(tags.get(code, ()), default=default)

    pixel = of(_CHANNELS) * of(_BITS) / 8 * of(_DEPTH)
    claimed = limits.possible(metadata.path, of(_WIDTH, 0), of(_HEIGHT, 0), pixel)
    if _TILE_WIDTH in tags and _TILE_HEIGHT in tags:
        tile = limits.possible(metadata.path, of(_TILE_WIDTH), of(_TILE_HEIGHT), pixel * of(_TILE_DEPTH))
        if tile > max(4 * claimed, limits.MOST_BLOCK):
            raise FrameError(metadata.path, "its tiles are far larger than its picture; it is damaged, copy it again")
    limits.held(metadata.path, claimed, size, _RATIOS.get(of(_COMPRESSION), limits.OTHER))
