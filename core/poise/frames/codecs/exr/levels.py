"""Splits a mipmapped part into one part per level, which the library can read and write, and joins them again.

Source: "OpenEXR File Layout" (openexr.com), tile description, offset tables, tile chunks; "Technical Introduction to
OpenEXR", "Levels of Detail": the size of level n is that of the picture / 2^n, rounded up or down, at least 1.
"""

import struct
from collections.abc import Sequence

import numpy as np

from poise.frames.codecs.exr.file import Attributes, Part
from poise.frames.frame import Pixels

ONE, MIPMAP, RIPMAP = 0, 1, 2


def mode(header: Attributes) -> int:
    """The level mode of a part: ONE, MIPMAP or RIPMAP; a part of scan lines has one level."""
    return header[b"tiles"][1][8] & 15 if b"tiles" in header else ONE


def split(part: Part) -> list[Part]:
    """One part per level, the whole picture first; the part itself if it has no further levels.

    Raises:
        ValueError: a tile is missing, misplaced or surplus.
    """
    if mode(part.attributes) != MIPMAP:
        return [part]
    left, top, right, bottom = struct.unpack("<4i", part.attributes[b"dataWindow"][1])
    across, down, how = struct.unpack("<2IB", part.attributes[b"tiles"][1][:9])
    tiles = b"tiledesc", struct.pack("<2IB", across, down, ONE)
    placed, start, made = dict(part.chunks), 0, []
    for level, (width, height) in enumerate(sizes(right - left + 1, bottom - top + 1, bool(how & 16))):
        window = b"box2i", struct.pack("<4i", left, top, left + width - 1, top + height - 1)
        count = -(-width // across) * -(-height // down)
        chunks = []
        for place in range(count):
            chunk = placed.get(start + place)
            if chunk is None or chunk[8:16] != struct.pack("<2i", level, level):
                raise ValueError("a tile of its levels is missing")
            chunks.append((place, memoryview(bytes(chunk[:8]) + bytes(8) + bytes(chunk[16:]))))
        made.append(Part(dict(part.attributes) | {b"dataWindow": window, b"tiles": tiles}, chunks))
        start += count
    if start != len(placed):
        raise ValueError("it has more tiles than its levels")
    return made


def joined(levels: Sequence[Part]) -> list[tuple[int, memoryview]]:
    """The chunks of a mipmapped part, from one part per level."""
    if len(levels) == 1:
        return list(levels[0].chunks)
    made, start = [], 0
    for level, part in enumerate(levels):
        at = struct.pack("<2i", level, level)
        made += [(start + place, memoryview(bytes(chunk[:8]) + at + bytes(chunk[16:]))) for place, chunk in part.chunks]
        start += len(part.chunks)
    return made


def sizes(width: int, height: int, up: bool) -> list[tuple[int, int]]:
    """Width and height of each mipmap level, down to one pixel.

    Example:
        >>> sizes(5, 3, up=False), sizes(5, 3, up=True)
        ([(5, 3), (2, 1), (1, 1)], [(5, 3), (3, 2), (2, 1), (1, 1)])
    """
    found = [(width, height)]
    while max(found[-1]) > 1:
        width, height = ((max(1, (size + up) // 2)) for size in found[-1])
        found.append((width, height))
    return found


def halved(pixels: Pixels, width: int, height: int) -> Pixels:
    """The next level: the means of two by two pixels, fewer at an edge.

    Args:
        pixels: (height, width), float32.
        width, height: the size of the next level; a surplus row or column is left out.
    """
    for axis, size in ((0, height), (1, width)):
        if pixels.shape[axis] > 1:
            first = np.take(pixels, np.arange(size) * 2, axis)
            second = np.take(pixels, np.minimum(np.arange(size) * 2 + 1, pixels.shape[axis] - 1), axis)
            pixels = first / 2 + second / 2
    return pixels
