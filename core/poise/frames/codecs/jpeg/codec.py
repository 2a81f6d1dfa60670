"""JPEG of 8 bit, grey and RGB: decoded by OpenImageIO, which tells of missing data, coded by Pillow.

Kept: quantisation tables, chroma subsampling, progressive or not, restart intervals, RGB stored as such, and as bytes
every segment beside the picture: JFIF, EXIF with MakerNote, XMP, ICC, IPTC, Adobe, comments. Thumbnails of JFIF and
EXIF are drawn anew. Told: further pictures (MPF) and JFXX thumbnails, which are left out; other chroma layouts than
4:4:4, 4:2:2 and 4:2:0, which become 4:4:4. Refused by name: CMYK, arithmetic coding, lossless and 12-bit JPEG.
"""

import io
import warnings
from pathlib import Path
from types import MappingProxyType
from typing import Any, BinaryIO

import numpy as np
import OpenImageIO as oiio
from PIL import Image
from PIL.JpegImagePlugin import JpegImageFile

from poise.errors import FrameError
from poise.frames.codecs import carried
from poise.frames.codecs.jpeg.metadata import beside, holds
from poise.frames.codecs.jpeg.segments import COM, Parts, parse, spliced
from poise.frames.codecs.shared import Probe, checked, cut_short
from poise.frames.frame import Depth, Frame, Pixels

warnings.filterwarnings("ignore", module=r"PIL\.")  # what it makes of EXIF would reach the terminal unasked

_CHANNELS = {"L": 1, "RGB": 3}
_NEW = {"quality": 95, "subsampling": 0}
"""For pictures that were no JPEG: close to the picture, and colour at full resolution."""
_SAMPLINGS = {(1, 1): 0, (2, 1): 1, (2, 2): 2}
_CODINGS = {0xC0: False, 0xC1: False, 0xC2: True}
_HARMLESS = "before marker 0xd9"  # more data than the picture takes


def probe(path: Path) -> Probe:
    with path.open("rb") as file:
        return _probe(path, _opened(path, file))


def read(path: Path) -> Frame:
    # JpegImageFile by itself: Image.open would warn of large pictures, which `checked` handles
    with path.open("rb") as file:
        picture = _opened(path, file)
        header = _probe(path, picture)
        tables = picture.quantization
        file.seek(0)
        parts = parse(file.read())
        if parts.frame[0] not in _CODINGS:
            raise FrameError(path, "the JPEG is arithmetic-coded or lossless, which poise doesn't read; save it anew")
        pixels = _decoded(path, file.fileno(), header)
    return Frame(
        pixels,
        Depth.U8,
        icc=picture.info.get("icc_profile"),
        carry=MappingProxyType(
            {
                "format": "jpeg",
                "options": _options(parts, tables),
                "parts": parts,
                "icc": picture.info.get("icc_profile"),
                "holds": holds(parts.beside),
            }
        ),
    )


def write(path: Path, frame: Frame, stamp: str | None) -> tuple[str, ...]:
    carry = carried(frame, "jpeg")
    parts: Parts | None = carry.get("parts")
    pixels = frame.pixels[..., 0] if frame.grey else frame.pixels
    memory = io.BytesIO()
    own = {} if parts else {"icc_profile": frame.icc}
    Image.fromarray(np.ascontiguousarray(pixels)).save(memory, "JPEG", **carry.get("options", _NEW), **own)
    encoded = memory.getvalue()
    if parts:
        segments, trailing, notes = beside(parts, frame, keep_icc=frame.icc == carry["icc"])
        if parts.ratio not in _SAMPLINGS:
            notes += ("its chroma layout can't be written; the output has 4:4:4",)
    else:
        segments, trailing, notes = list(parse(encoded).beside), b"", ()
    if stamp:
        segments.append((COM, stamp.encode()))
    with path.open("wb") as file:
        file.writelines(spliced(encoded, segments, trailing))
    return notes


def _opened(path: Path, file: BinaryIO) -> JpegImageFile:
    try:
        return JpegImageFile(file)
    except SyntaxError as fault:
        if "-bit" in str(fault):
            raise FrameError(path, "the JPEG is of 12 bit, which poise doesn't read; save it as 8 bit") from fault
        raise


def _probe(path: Path, picture: JpegImageFile) -> Probe:
    channels = _CHANNELS.get(picture.mode)
    if channels is None:
        raise FrameError(path, f"the JPEG holds {picture.mode}, which poise doesn't correct; save it as grey or RGB")
    return checked(path, Probe(picture.width, picture.height, Depth.U8, channels, False, "jpeg"))


def _decoded(path: Path, handle: int, header: Probe) -> Pixels:
    """The picture, whole: libjpeg fills missing data with grey, and only says so."""
    odd = any("\ud800" <= letter <= "\udfff" for letter in str(path))  # OpenImageIO wants UTF-8
    source = oiio.ImageInput.open(f"/proc/self/fd/{handle}" if odd else str(path))
    if source is None:
        raise FrameError(path, f"the JPEG can't be opened ({_brief(oiio.geterror())}); copy it again")
    try:
        pixels = source.read_image(0, 0, 0, header.channels, "uint8")
        said = source.geterror()
    finally:
        source.close()
    if "premature end" in said.lower():
        raise cut_short(path)
    if pixels is None or ("orrupt" in said and _HARMLESS not in said):
        raise FrameError(path, f"the file is damaged ({_brief(said)}); copy it again")
    return np.asarray(pixels).reshape(header.height, header.width, header.channels)


def _brief(text: str) -> str:
    return " ".join(text.partition(' ("/')[0].split())[:120]  # the path is told already


def _options(parts: Parts, tables: dict[int, Any]) -> dict[str, Any]:
    """What makes Pillow code a picture as this one was."""
    listed = [tables[table] for _, _, table in parts.components]
    while len(listed) > 1 and listed[-1] == listed[-2]:
        listed.pop()  # the last stands for all that follow
    return {
        "qtables": listed,
        "subsampling": _SAMPLINGS.get(parts.ratio, 0),
        "progressive": _CODINGS[parts.frame[0]],
        "restart_marker_blocks": parts.restart,
        "keep_rgb": parts.rgb,
    }
