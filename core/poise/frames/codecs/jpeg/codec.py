"""JPEG of 8 bit, grey and RGB: decoded by OpenImageIO, which reports missing data; encoded by Pillow.

OpenImageIO is given the picture without metadata: it would apply a gain map, and it reports only the first fault.

Kept: quantisation tables, chroma subsampling, progressive or not, restart intervals, RGB stored as such, and as bytes
every other segment: JFIF, EXIF with MakerNote, XMP, ICC, IPTC, Adobe, comments. Thumbnails of JFIF and EXIF are drawn
again. Reported: a gain map, further pictures (MPF) and JFXX thumbnails, which are left out; chroma layouts other than
4:4:4, 4:2:2 and 4:2:0, which become 4:4:4; faults that don't damage the picture. Refused by name: CMYK, arithmetic
coding, lossless and 12-bit JPEG.
"""

import io
import os
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
from poise.frames.codecs.jpeg.markers import COM
from poise.frames.codecs.jpeg.metadata import holds, icc_profile, output_metadata
from poise.frames.codecs.jpeg.segments import Parts, parse, spliced
from poise.frames.codecs.shared import Probe, checked, cut_short
from poise.frames.frame import Depth, Frame, Pixels

warnings.filterwarnings("ignore", module=r"PIL\.")  # keeps its warnings about EXIF off the terminal

_CHANNELS = {"L": 1, "RGB": 3}
_NEW = {"quality": 95, "subsampling": 0}
"""Options for pictures of other formats: high quality, and colour at full resolution."""
_SAMPLINGS = {(1, 1): 0, (2, 1): 1, (2, 2): 2}
_CODINGS = {0xC0: False, 0xC1: False, 0xC2: True}
_SURPLUS = "extraneous bytes before marker 0xd9"


def probe(path: Path) -> Probe:
    with path.open("rb") as file:
        return _probe(path, _opened(path, file))


def read(path: Path) -> Frame:
    parts, alone = _parsed(path, path.read_bytes())
    # not Image.open, which would warn about large pictures; `checked` handles them
    picture = JpegImageFile(io.BytesIO(alone))
    pixels, surplus = _decoded(path, alone, _probe(path, picture))
    icc = icc_profile(parts.metadata)
    return Frame(
        pixels,
        Depth.U8,
        icc=icc,
        carry=MappingProxyType(
            {
                "format": "jpeg",
                "options": _options(parts, picture.quantization),
                "parts": parts,
                "icc": icc,
                "holds": holds(parts),
                "source_notes": parts.faults + surplus,
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
        segments, trailing, notes = output_metadata(parts, frame, keep_icc=frame.icc == carry["icc"])
        if parts.ratio not in _SAMPLINGS:
            notes += ("its chroma layout can't be written; the output has 4:4:4",)
    else:
        segments, trailing, notes = list(parse(encoded)[0].metadata), b"", ()
    if stamp:
        segments.append((COM, stamp.encode()))
    with path.open("wb") as file:
        file.writelines(spliced(encoded, segments, trailing))
    return notes


def _opened(path: Path, file: BinaryIO) -> JpegImageFile:
    try:
        return JpegImageFile(file)
    except SyntaxError:
        file.seek(0)
        return JpegImageFile(io.BytesIO(_parsed(path, file.read())[1]))


def _parsed(path: Path, data: bytes) -> tuple[Parts, bytes]:
    """The parts of a file, and its picture alone.

    Raises:
        FrameError: it is damaged, or of a kind that is refused.
    """
    try:
        parts, alone = parse(data)
    except ValueError as fault:
        raise FrameError(path, f"the JPEG {fault}; copy it again") from fault
    mark, header = parts.frame
    if header[0] != 8:
        raise FrameError(path, f"the JPEG is of {header[0]} bit, which poise doesn't read; save it as 8 bit")
    if mark not in _CODINGS:
        raise FrameError(path, "the JPEG is arithmetic-coded or lossless, which poise doesn't read; save it again")
    if len(parts.components) not in (1, 3, 4):
        raise FrameError(path, f"the JPEG has {len(parts.components)} channels; save it as grey or RGB")
    if not parts.complete:
        raise FrameError(path, "the JPEG ends before its last scans: it is cut short; copy it again")
    return parts, alone


def _probe(path: Path, picture: JpegImageFile) -> Probe:
    channels = _CHANNELS.get(picture.mode)
    if channels is None:
        raise FrameError(path, f"the JPEG holds {picture.mode}, which poise doesn't correct; save it as grey or RGB")
    return checked(path, Probe(picture.width, picture.height, Depth.U8, channels, False, "jpeg"))


def _decoded(path: Path, alone: bytes, header: Probe) -> tuple[Pixels, tuple[str, ...]]:
    """The pixels, and a note if surplus data follows them.

    Raises:
        FrameError: data is missing, which libjpeg would fill with grey, or damaged.
    """
    with os.fdopen(os.memfd_create("jpeg"), "wb") as memory:  # OpenImageIO's Python binding can't read from memory
        memory.write(alone)
        memory.flush()
        source = oiio.ImageInput.open(f"/proc/self/fd/{memory.fileno()}")
        if source is None:
            raise FrameError(path, f"the JPEG can't be opened ({_brief(oiio.geterror())}); copy it again")
        try:
            pixels = source.read_image(0, 0, 0, header.channels, "uint8")
            said = source.geterror()
        finally:
            source.close()
    if "premature end" in said.lower():
        raise cut_short(path)
    if pixels is None or (said and _SURPLUS not in said):
        raise FrameError(path, f"the file is damaged ({_brief(said)}); copy it again")
    surplus = ("not kept: data between the picture and the marker of its end",) if said else ()
    return np.asarray(pixels).reshape(header.height, header.width, header.channels), surplus


def _brief(text: str) -> str:
    return " ".join(text.partition(' ("/')[0].split())[:120]  # without the name of the memory file


def _options(parts: Parts, tables: dict[int, Any]) -> dict[str, Any]:
    """The options that make Pillow encode a picture as the source was encoded."""
    listed = [tables[table] for _, _, table in parts.components]
    while len(listed) > 1 and listed[-1] == listed[-2]:
        listed.pop()  # the last one also applies to all that follow
    return {
        "qtables": listed,
        "subsampling": _SAMPLINGS.get(parts.ratio, 0),
        "progressive": _CODINGS[parts.frame[0]],
        "restart_marker_blocks": parts.restart,
        "keep_rgb": parts.rgb,
    }
