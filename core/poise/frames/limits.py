"""Limits on the sizes that a file claims, checked before any memory is allocated.

Common practice, no source: well above the output of cameras, scanners and renderers.
"""

import zlib
from dataclasses import dataclass
from pathlib import Path

from poise.errors import FrameError

MOST_PIXELS = 2**28
MOST_BYTES = 2**31
"""Bytes of a picture in memory at its own depth."""
MOST_BLOCK = 16 * 2**20
"""Bytes of one tag, chunk, segment or attribute, unpacked."""
MOST_METADATA = 64 * 2**20
"""Bytes of all tags, chunks, segments or attributes of a file together."""
MOST_BLOCKS = 2**16
MOST_PARTS = 1024
"""Pages, directories or parts of a file."""

DEFLATE = 1032
"""The largest compression ratio of deflate: 258 bytes in two bits (zlib technical details, maximum compression
factor)."""
OTHER = 2**16
"""A bound on the ratio of other lossless coders: zstd repeats a byte 2**17 times in 4 bytes (RFC 8878, 3.1.1.2)."""

_PIECE = 2**20


@dataclass
class Metadata:
    """Counts the metadata of a file while a guard walks through its blocks.

    Example:
        Metadata(Path("quay_02.png")).add(2**40, "the chunk zTXt")  # raises FrameError
    """

    path: Path
    blocks: int = 0
    size: int = 0

    def add(self, size: int, what: str) -> None:
        """Count one block.

        Args:
            size: in bytes.
            what: the name of the block in messages.

        Raises:
            FrameError: the size of the block, the total size, or the number of blocks is over the limit.
        """
        self.blocks += 1
        self.size += size
        if size > MOST_BLOCK:
            limit = f"{what[:40]} holds more than {MOST_BLOCK >> 20} MB, over the limit"
            raise FrameError(self.path, f"{limit}; save the picture without it")
        if self.size > MOST_METADATA or self.blocks > MOST_BLOCKS:
            limit = f"more than {MOST_METADATA >> 20} MB or {MOST_BLOCKS:,} pieces of metadata, over the limit"
            raise FrameError(self.path, f"it holds {limit}; save the picture without them")

    def unpacked(self, packed: bytes, what: str) -> None:
        """Count one block by the unpacked size of a zlib stream; the content is discarded.

        Raises:
            FrameError: as `add`.
            zlib.error: it is not a valid zlib stream.
        """
        stream, size = zlib.decompressobj(), 0
        while packed and size <= MOST_BLOCK:
            size += len(stream.decompress(packed, _PIECE))
            packed = stream.unconsumed_tail
        self.add(size, what)


def possible(path: Path, width: int, height: int, pixel: float) -> int:
    """Check the size of a picture; returns its bytes in memory.

    Args:
        width, height: in pixels.
        pixel: bytes of one pixel.

    Raises:
        FrameError: it has no pixels, or more pixels or bytes than the limits.

    Example:
        >>> possible(Path("quay_02.tif"), 3840, 2160, 6)
        49766400
    """
    if width < 1 or height < 1:
        raise FrameError(path, f"its header says {width} x {height} pixels; it is damaged, copy it again")
    if width * height > MOST_PIXELS:
        limit = f"over the limit of {MOST_PIXELS:,}; check it, or save it in parts"
        raise FrameError(path, f"its header says {width} x {height} pixels, {limit}")
    size = int(width * height * pixel)
    if size > MOST_BYTES:
        limit = f"over the limit of {MOST_BYTES >> 30} GB; save it at less depth, or in parts"
        raise FrameError(path, f"its {width} x {height} pixels take {size / 2**30:.1f} GB, {limit}")
    return size


def held(path: Path, claimed: int, stored: int, ratio: int = 1) -> None:
    """Check that a file is large enough for the picture that its header claims.

    Args:
        claimed: bytes of the picture.
        stored: bytes in the file.
        ratio: the largest compression ratio.

    Raises:
        FrameError: it is too small.

    Example:
        held(Path("quay_02.png"), 10**6, 900, DEFLATE)  # raises FrameError
    """
    if claimed > stored * ratio:
        raise FrameError(path, "its header claims more than the file can hold: it is cut short; copy it again")


def whole(path: Path, claimed: int, stored: int) -> None:
    """Check that a file may be read into memory whole: it is not much larger than its picture and metadata.

    Args:
        claimed: bytes of the picture.
        stored: bytes in the file.

    Raises:
        FrameError: it is far larger.

    Example:
        whole(Path("quay_02.png"), 10**6, 10**12)  # raises FrameError
    """
    if stored > 2 * claimed + MOST_METADATA:
        raise FrameError(path, "the file is far larger than its picture; save the picture again by itself")
