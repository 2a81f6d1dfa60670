"""EXIF made by hand for tests, after Exif 2.32 and TIFF 6.0: a MakerNote with offsets, and a thumbnail."""

import io
import struct
from typing import Any

from PIL import Image


def exif(order: str, thumbnail: bytes, kind: int = 6) -> bytes:
    """EXIF with ExposureTime, a MakerNote that holds offsets, and a thumbnail."""

    def ifd(*entries: tuple[int, int, int, int], following: int = 0) -> bytes:
        body = struct.pack(f"{order}H", len(entries))
        for tag, type_, count, value in entries:
            short = type_ == 3 and count == 1
            body += struct.pack(f"{order}HHI", tag, type_, count)
            body += struct.pack(f"{order}HH", value, 0) if short else struct.pack(f"{order}I", value)
        return body + struct.pack(f"{order}I", following)

    head = b"II*\0" if order == "<" else b"MM\0*"
    note = b"HARBOUR\0" + struct.pack(f"{order}II", 120, 200) + bytes(range(48))
    first, second, third = 8, 8 + 2 + 24 + 4, 200
    return b"".join(
        (
            head + struct.pack(f"{order}I", first),
            ifd((0x0131, 2, 11, 120), (0x8769, 4, 1, second), following=third),
            ifd((0x829A, 5, 1, 80), (0x927C, 7, 64, 136)).ljust(80 - second, b"\0"),
            struct.pack(f"{order}II", 1, 250).ljust(40, b"\0"),
            b"lighthouse\0".ljust(16, b"\0"),
            note,
            ifd((0x0103, 3, 1, kind), (0x0201, 4, 1, 300), (0x0202, 4, 1, len(thumbnail))).ljust(100, b"\0"),
            thumbnail,
            b"the end",
        )
    )


def jpeg(pixels: Any, size: tuple[int, int], quality: int) -> bytes:
    memory = io.BytesIO()
    Image.fromarray(pixels).resize(size).save(memory, "JPEG", quality=quality)
    return memory.getvalue()
