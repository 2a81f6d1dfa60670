"""Whether an OpenEXR file stands whole on disk: its library can lose the last bytes on a full disk and tell nobody.

Source: OpenEXR file layout (openexr.com, "OpenEXR File Layout"): header, offset table, chunks, for one part.
"""

import struct
from pathlib import Path
from typing import BinaryIO

_MAGIC = b"\x76\x2f\x31\x01"
_TILED = 0x200


def whole(path: Path) -> bool:
    """Whether every chunk has its offset, and the last chunk in the file ends where the file does.

    Args:
        path: a file of one part, scanlines or tiles.

    Example:
        whole(Path("quay_04.exr"))
    """
    with path.open("rb") as file:
        try:
            return _ends_well(file, path.stat().st_size)
        except struct.error:
            return False


def _ends_well(file: BinaryIO, size: int) -> bool:
    magic, version = struct.unpack("<4sI", file.read(8))
    if magic != _MAGIC:
        return False
    while name := _text(file):  # an empty name ends the header
        _text(file)
        (length,) = struct.unpack("<i", file.read(4))
        if len(name) > 255 or length < 0:
            return False
        file.seek(length, 1)
    start = file.tell()
    offsets = [struct.unpack("<Q", file.read(8))[0]]
    # the table ends where the first chunk starts
    while file.tell() < min(offsets):
        offsets.append(struct.unpack("<Q", file.read(8))[0])
    if min(offsets) != start + 8 * len(offsets):
        return False
    file.seek(max(offsets) + (16 if version & _TILED else 4))
    (length,) = struct.unpack("<i", file.read(4))
    return file.tell() + int(length) == size


def _text(file: BinaryIO) -> bytes:
    text = b""
    while (byte := file.read(1)) != b"\0":
        if not byte:
            raise struct.error("the header ends early")
        text += byte
    return text
