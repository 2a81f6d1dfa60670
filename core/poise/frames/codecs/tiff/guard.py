"""The guard of TIFF: its directories with their tags, and the pictures that they describe.

Source: TIFF 6.0, section 2 (image file directory) and section 15 (tiles); Exif 2.32, 4.6.3 for its directories.
"""

import struct
from collections.abc import Mapping
from typing import BinaryIO

from poise.errors import FrameError
from poise.frames import limits
from poise.frames.codecs.tiff.directories import INTEGERS, SIZES, Form, first, form_of

_WIDTH, _HEIGHT, _BITS, _COMPRESSION, _PHOTOMETRIC, _CHANNELS, _DEPTH = 256, 257, 258, 259, 262, 277, 32997
_YCBCR, _SUBSAMPLING = 6, 530
_TILE_WIDTH, _TILE_HEIGHT, _TILE_DEPTH = 322, 323, 32998
_DIRECTORIES = (330, 34665, 34853, 40965)
_READ = {_WIDTH, _HEIGHT, _BITS, _COMPRESSION, _PHOTOMETRIC, _CHANNELS, _DEPTH, _SUBSAMPLING}
_READ |= {_TILE_WIDTH, _TILE_HEIGHT, _TILE_DEPTH, *_DIRECTORIES}
_RATIOS = {1: 1, 8: limits.DEFLATE, 32946: limits.DEFLATE}
_MOST_READ = 4096

Tags = Mapping[int, tuple[int, ...]]


def check(file: BinaryIO, size: int, metadata: limits.Metadata) -> None:
    form = form_of(file.read(4))
    known: set[int] = set()
    pages, below = _chain(file, size, metadata, form, first(file, form), known)
    for page in pages:
        _picture(metadata, size, page)
    while below:
        below += _chain(file, size, metadata, form, below.pop(), known)[1]


def _chain(
    file: BinaryIO, size: int, metadata: limits.Metadata, form: Form, offset: int, known: set[int]
) -> tuple[list[Tags], list[int]]:
    """The directories of a chain that are not yet known, and the offsets of those below them.

    A chain may lead into another: SubIFDs may be listed in a tag and also linked to each other. None may lead back into
    itself.
    """
    found: list[Tags] = []
    below: list[int] = []
    chain: set[int] = set()
    while 0 < offset < size:
        if offset in chain:
            raise FrameError(metadata.path, "the directories of the TIFF go round in a circle; copy it again")
        if offset in known:
            break
        chain.add(offset)
        known.add(offset)
        if len(known) > limits.MOST_PARTS:
            limit = f"more than {limits.MOST_PARTS} directories, over the limit"
            raise FrameError(metadata.path, f"the TIFF holds {limit}; save one page a file")
        tags, offset = _directory(file, metadata, form, offset)
        found.append(tags)
        below += [place for code in _DIRECTORIES for place in tags.get(code, ())]
    return found, below


def _directory(file: BinaryIO, metadata: limits.Metadata, form: Form, offset: int) -> tuple[Tags, int]:
    """The tags of a directory that the guard needs, and the offset of the next one."""
    file.seek(offset)
    (count,) = struct.unpack(form.count, file.read(struct.calcsize(form.count)))
    if count > limits.MOST_BLOCKS:
        raise FrameError(metadata.path, f"the TIFF says it has {count:,} tags; it is damaged, copy it again")
    wide, place = struct.calcsize(form.row), struct.calcsize(form.offset)
    rows = file.read(count * wide)
    (after,) = struct.unpack(form.offset, file.read(place).rjust(place, b"\0"))
    tags: dict[int, tuple[int, ...]] = {}
    for code, kind, number, value in struct.iter_unpack(form.row, rows[: len(rows) // wide * wide]):
        length = number * SIZES.get(kind, 1)
        metadata.add(length, f"the tag {code}")
        if code in _READ and kind in INTEGERS and length <= _MOST_READ:
            if length > len(value):
                file.seek(struct.unpack(form.offset, value)[0])
                value = file.read(length)
            value = value[:length]
            tags[code] = struct.unpack(f"{form.order}{len(value) // SIZES[kind]}{INTEGERS[kind]}", value)
    return tags, after


def _picture(metadata: limits.Metadata, size: int, tags: Tags) -> None:
    def of(code: int, default: int = 1) -> int:
        return max(tags.get(code, ()), default=default)

    bits = of(_BITS)
    pixel = of(_CHANNELS) * (bits / 8 if bits < 8 else -(-bits // 8)) * of(_DEPTH)
    claimed = limits.possible(metadata.path, of(_WIDTH, 0), of(_HEIGHT, 0), pixel)
    if _TILE_WIDTH in tags and _TILE_HEIGHT in tags:
        tile = limits.possible(metadata.path, of(_TILE_WIDTH), of(_TILE_HEIGHT), pixel * of(_TILE_DEPTH))
        if tile > max(4 * claimed, limits.MOST_BLOCK):
            raise FrameError(metadata.path, "its tiles are far larger than its picture; it is damaged, copy it again")
    claimed = claimed * bits // (8 * -(-bits // 8) if bits > 8 else bits)
    if of(_PHOTOMETRIC) == _YCBCR:  # several pixels share one pair of colour differences
        across, down = (*tags.get(_SUBSAMPLING, ()), 2, 2)[:2]
        claimed = int(claimed * (1 + 2 / max(across * down, 1)) / 3)
    limits.held(metadata.path, claimed, size, _RATIOS.get(of(_COMPRESSION), limits.OTHER))
