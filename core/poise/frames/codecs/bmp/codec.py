"""BMP of 24 and 32 bit, and of 8 bit grey: read by imageio, and written as PNG.

Kept: every pixel, alpha if the header declares it, an embedded ICC profile. Reported: any other metadata. Refused by
name: palettes, 1, 2, 4 and 16 bit, and every compression.
"""

import struct
from pathlib import Path
from types import MappingProxyType

import numpy as np

from poise.errors import FrameError
from poise.frames.codecs.bmp.header import BITFIELDS, CALIBRATED, EMBEDDED, RGB, Header, header
from poise.frames.codecs.shared import Probe, checked
from poise.frames.codecs.still import decoded
from poise.frames.frame import Depth, Frame

_COMPRESSIONS = {1: "run-length", 2: "run-length", 4: "JPEG", 5: "PNG"}
_MASKS = {
    (0xFF0000, 0xFF00, 0xFF, 0): 3,
    (0xFF000000, 0xFF0000, 0xFF00, 0): 3,
    (0xFF000000, 0xFF0000, 0xFF00, 0xFF): 4,
    (0xFF, 0xFF00, 0xFF0000, 0xFF000000): 4,
    (0xFF0000, 0xFF00, 0xFF, 0xFF000000): 4,
}
"""The masks of red, green, blue and alpha that Pillow reads, with their number of channels."""
_LINKED = 0x4C494E4B


def probe(path: Path) -> Probe:
    with path.open("rb") as file:
        return _probe(path, header(file))


def read(path: Path) -> Frame:
    with path.open("rb") as file:
        found = header(file)
        place, length = found.profile
        file.seek(place)
        icc = file.read(length) if found.space == EMBEDDED else b""
    probed = _probe(path, found)
    holds = ["resolution"] if any(found.resolution) else []
    if found.space == CALIBRATED and _calibrated(path):
        holds.append("calibrated colour (end points and gamma)")
    if found.space == _LINKED:
        holds.append("link to an ICC profile")
    if path.stat().st_size > max(found.pixels + found.stored, place + length) + 3:
        holds.append("data after the end of the picture")
    if found.bits == 32 and probed.channels == 3 and _fourth_byte_used(path, found):
        holds.append("the fourth byte of each pixel, which its header doesn't call alpha")
    carry = {"format": "bmp", "holds": tuple(holds)}
    return Frame(decoded(path, probed), Depth.U8, icc=icc or None, carry=MappingProxyType(carry))


def _probe(path: Path, found: Header) -> Probe:
    def refuse(what: str) -> FrameError:
        return FrameError(path, f"the BMP holds {what}, which poise doesn't correct; save it as BMP of 24 bit or PNG")

    if found.compression not in (RGB, BITFIELDS):
        raise refuse(f"{_COMPRESSIONS.get(found.compression, 'unknown')} compression")
    if found.bits < 8 or (found.bits == 8 and not found.grey):
        raise refuse("black and white of 1 bit" if found.bits == 1 else "a palette")
    if found.bits not in (8, 24, 32):
        raise refuse(f"pixels of {found.bits} bit")
    if found.compression == BITFIELDS and (found.bits != 32 or found.masks not in _MASKS):
        raise refuse(f"an unusual layout of {found.bits} bit")
    channels = 1 if found.bits == 8 else _MASKS[found.masks] if found.compression == BITFIELDS else 3
    return checked(path, Probe(found.width, found.height, Depth.U8, channels, False, "bmp"))


def _calibrated(path: Path) -> bool:
    """Whether the header has end points or gammas that are not 0; many programs leave them 0."""
    with path.open("rb") as file:
        file.seek(74)
        return any(struct.unpack("<12I", file.read(48)))


def _fourth_byte_used(path: Path, found: Header) -> bool:
    """Whether the byte of each pixel that is not a colour varies between pixels."""
    words = np.fromfile(path, "<u4", found.width * found.height, offset=found.pixels)
    rest = words & ~np.uint32(sum(found.masks[:3]) if found.compression == BITFIELDS else 0xFFFFFF)
    return bool(rest.any()) and bool((rest != rest[0]).any())
