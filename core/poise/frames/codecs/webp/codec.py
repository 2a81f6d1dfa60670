"""WebP, lossy and lossless, with or without alpha: read by imageio, and written as PNG.

Kept: every pixel as libwebp decodes it, colour under an alpha of 0, the ICC profile. Reported: EXIF, XMP, unknown
chunks and data after the end. Refused by name: animation.
"""

from pathlib import Path
from types import MappingProxyType

from poise.frames.codecs.shared import Probe, checked
from poise.frames.codecs.still import decoded
from poise.frames.codecs.webp.chunks import ALPHA, EXTENDED, LOSSLESS, LOSSY, Header, header
from poise.frames.frame import Depth, Frame

_ICC = b"ICCP"
_NAMED = {b"EXIF": "EXIF", b"XMP ": "XMP"}
_OWN = {LOSSY, LOSSLESS, EXTENDED, ALPHA, _ICC}


def probe(path: Path) -> Probe:
    return _probe(path, _header(path))


def read(path: Path) -> Frame:
    found = _header(path)
    probed = _probe(path, found)
    icc = None
    with path.open("rb") as file:
        for chunk in found.chunks:
            if chunk.kind == _ICC and icc is None:
                file.seek(chunk.start)
                icc = file.read(chunk.size)
    others = dict.fromkeys(chunk.kind for chunk in found.chunks if chunk.kind not in _OWN)
    holds = [_NAMED.get(kind, f"chunk {kind.decode('latin-1').encode('unicode-escape').decode()}") for kind in others]
    if path.stat().st_size > found.end:
        holds.append("data after the end of the picture")
    carry = {"format": "webp", "holds": tuple(holds)}
    return Frame(decoded(path, probed), Depth.U8, icc=icc or None, carry=MappingProxyType(carry))


def _header(path: Path) -> Header:
    with path.open("rb") as file:
        return header(path, file, path.stat().st_size)


def _probe(path: Path, found: Header) -> Probe:
    return checked(path, Probe(found.width, found.height, Depth.U8, 4 if found.alpha else 3, False, "webp"))
