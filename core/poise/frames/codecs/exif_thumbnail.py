"""Replaces the thumbnail inside EXIF in place, so that no other byte changes.

Offsets inside a MakerNote often count from the start of EXIF, so nothing must move.

Source: Exif 2.32 4.5.4 (IFD1, JPEGInterchangeFormat 0x0201 and its length 0x0202); TIFF 6.0 section 2.
"""

import io
import struct

import numpy as np
from PIL import Image, ImageOps

from poise.frames.frame import Pixels

_REMOVED = ("not kept: the EXIF thumbnail, which showed the uncorrected picture",)


def replaced(exif: bytes, pixels: Pixels) -> tuple[bytes, tuple[str, ...]]:
    """EXIF of the same length with a thumbnail of a new picture, and notes.

    A thumbnail that isn't JPEG, or whose replacement is larger, is unlinked instead.

    Args:
        exif: from its byte order mark on.
        pixels: (height, width, 1 to 4), the new picture.
    """
    try:
        order = {b"II*\0": "<", b"MM\0*": ">"}[exif[:4]]
        link, tags = _second(exif, order)
    except (KeyError, struct.error):
        return exif, ("EXIF is damaged; it was kept unchanged",)
    if not link:
        return exif, ()
    made = bytearray(exif)
    start, length = tags.get(0x0201, 0), tags.get(0x0202, 0)
    if start and length and start + length <= len(exif):
        drawn = _drawn(exif[start : start + length], pixels)
        made[start : start + length] = drawn.ljust(length, b"\0")
        if drawn:
            return bytes(made), ()
    made[link : link + 4] = bytes(4)
    return bytes(made), _REMOVED


def shrunk(pixels: Pixels, size: tuple[int, int]) -> Image.Image:
    """The whole picture scaled to fit into (width, height), padded with black; 8 bit, grey or RGB."""
    colour = pixels[..., 0] if pixels.shape[2] < 3 else pixels[..., :3]
    if colour.dtype != np.uint8:
        colour = (colour >> 8).astype(np.uint8)
    return ImageOps.pad(Image.fromarray(np.ascontiguousarray(colour)), size, Image.Resampling.BOX)


def _second(exif: bytes, order: str) -> tuple[int, dict[int, int]]:
    """The place in IFD0 of its link to IFD1 (0 if there is none), and the tags of IFD1 with a single number."""
    (first,) = struct.unpack_from(f"{order}I", exif, 4)
    (count,) = struct.unpack_from(f"{order}H", exif, first)
    link = first + 2 + 12 * count
    if link + 4 > len(exif):
        return 0, {}  # some writers omit the last link
    (second,) = struct.unpack_from(f"{order}I", exif, link)
    if not second:
        return 0, {}
    tags = {}
    (count,) = struct.unpack_from(f"{order}H", exif, second)
    for number in range(count):
        tag, kind, values = struct.unpack_from(f"{order}HHI", exif, second + 2 + 12 * number)
        if kind in (3, 4) and values == 1:
            (tags[tag],) = struct.unpack_from(f"{order}{'H' if kind == 3 else 'I'}", exif, second + 10 + 12 * number)
    return link, tags


def _drawn(old: bytes, pixels: Pixels) -> bytes:
    """A JPEG thumbnail of the same size in pixels and at most the same length; empty if that fails."""
    try:
        size = Image.open(io.BytesIO(old), formats=["JPEG"]).size
    except (OSError, SyntaxError, ValueError):
        return b""
    if max(size) > 1024:
        return b""
    small = shrunk(pixels, size)
    for quality in (90, 80, 70, 55, 40, 25, 10):
        out = io.BytesIO()
        small.save(out, "JPEG", quality=quality, optimize=True)
        if out.tell() <= len(old):
            return out.getvalue()
    return b""
