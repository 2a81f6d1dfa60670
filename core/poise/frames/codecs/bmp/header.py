"""The header of a BMP file.

Source: Microsoft, "Bitmap Storage" and BITMAPCOREHEADER to BITMAPV5HEADER (Windows GDI).
"""

import struct
from dataclasses import dataclass
from typing import BinaryIO

_CORE, _INFO, _V2, _V3, _OS2, _V4, _V5 = 12, 40, 52, 56, 64, 108, 124
SIZES = frozenset({_CORE, _INFO, _V2, _V3, _OS2, _V4, _V5})
RGB, BITFIELDS = 0, 3
CALIBRATED, EMBEDDED = 0, 0x4D424544
"""Kinds of colour space: end points and gammas in the header, and a profile in the file."""


@dataclass(frozen=True)
class Header:
    """The header of a file.

    Attributes:
        size: of the header; if it is not in `SIZES`, nothing else is known.
        pixels: the place of the pixels.
        masks: the bits of red, green, blue and alpha, with `BITFIELDS`.
        palette: its bytes, for 8 bits and less.
        entry: bytes of an entry of the palette.
        resolution: pixels per metre, across and down.
        space: the kind of colour space, from version 4 on.
        profile: the place and size of an embedded profile.
    """

    size: int
    width: int = 0
    height: int = 0
    bits: int = 0
    compression: int = RGB
    pixels: int = 0
    masks: tuple[int, int, int, int] = (0, 0, 0, 0)
    palette: bytes = b""
    entry: int = 4
    resolution: tuple[int, int] = (0, 0)
    space: int | None = None
    profile: tuple[int, int] = (0, 0)

    @property
    def stored(self) -> int:
        """Bytes of the picture, uncompressed: rows are padded to four bytes."""
        return (self.width * self.bits + 31) // 32 * 4 * self.height

    @property
    def grey(self) -> bool:
        """Whether codes of 8 bit are grey levels: the palette holds every grey at its own index."""
        colours = [bytes([level] * 3) for level in range(256)]
        found = [self.palette[at : at + 3] for at in range(0, len(self.palette), self.entry)]
        return self.bits == 8 and found == colours


def header(file: BinaryIO) -> Header:
    """The header of an open file.

    Raises:
        struct.error: it is cut short.
    """
    file.seek(0)
    head = file.read(14 + _V5 + 16)
    pixels, size = struct.unpack_from("<II", head, 10)
    if size not in SIZES:
        return Header(size)
    if size == _CORE:
        width, height, _, bits = struct.unpack_from("<4H", head, 18)
        return Header(size, width, height, bits, RGB, pixels, (0, 0, 0, 0), _palette(file, 26, 3, bits, 0), 3)
    width, height, _, bits, compression, _, *resolution, used = struct.unpack_from("<iiHHIIiiI", head, 18)
    masks = (
        struct.unpack_from("<3I" if size in (_INFO, _V2, _OS2) else "<4I", head, 54) if compression == BITFIELDS else ()
    )
    space = struct.unpack_from("<I", head, 70)[0] if size >= _V4 else None
    profile = struct.unpack_from("<II", head, 14 + 112) if size == _V5 and space == EMBEDDED else (0, 0)
    palette = _palette(file, 14 + size, 4, bits, used)
    across, down = resolution
    red, green, blue, alpha = (*masks, 0, 0, 0, 0)[:4]
    return Header(
        size,
        width,
        abs(height),
        bits,
        compression,
        pixels,
        (red, green, blue, alpha),
        palette,
        4,
        (across, down),
        space,
        (14 + profile[0], profile[1]) if profile[1] else (0, 0),
    )


def _palette(file: BinaryIO, start: int, entry: int, bits: int, used: int) -> bytes:
    if bits > 8:
        return b""
    file.seek(start)
    return file.read(entry * min(used or 1 << bits, 256))
