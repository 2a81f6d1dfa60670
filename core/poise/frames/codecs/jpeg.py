"""JPEG of 8 bit, grey and RGB, by Pillow: written again with the source's own quantisation tables and subsampling.

Kept: tables, subsampling, progressive or not, resolution, EXIF, XMP, ICC, comment. Refused by name: CMYK.
"""

from pathlib import Path
from types import MappingProxyType
from typing import Any

import numpy as np
from PIL import Image
from PIL.JpegImagePlugin import JpegImageFile, get_sampling

from poise.errors import FrameError
from poise.frames.codecs import carried
from poise.frames.codecs.shared import Probe, checked
from poise.frames.frame import Depth, Frame

_CHANNELS = {"L": 1, "RGB": 3}
_NEW = {"quality": 95, "subsampling": 0}
"""For pictures that were no JPEG: close to the picture, and colour at full resolution."""


def probe(path: Path) -> Probe:
    with path.open("rb") as file:
        return _probe(path, JpegImageFile(file))


def read(path: Path) -> Frame:
    # JpegImageFile by itself: Image.open would warn of large pictures, which `checked` handles
    with path.open("rb") as file:
        picture = JpegImageFile(file)
        header = _probe(path, picture)
        picture.load()
        pixels = np.asarray(picture).reshape(header.height, header.width, header.channels)
    info = picture.info
    sampling = get_sampling(picture)
    options: dict[str, Any] = {
        "qtables": [picture.quantization[key] for key in sorted(picture.quantization)],
        "subsampling": max(sampling, 0),
        "progressive": bool(info.get("progressive")),
        "keep_rgb": info.get("adobe_transform") == 0 and header.channels == 3,
    }
    options |= {key: info[key] for key in ("exif", "xmp", "comment", "dpi") if key in info}
    carry = {"format": "jpeg", "options": options}
    return Frame(pixels, Depth.U8, icc=info.get("icc_profile"), carry=MappingProxyType(carry))


def write(path: Path, frame: Frame, stamp: str | None) -> tuple[str, ...]:
    options = carried(frame, "jpeg").get("options", _NEW)
    pixels = frame.pixels[..., 0] if frame.grey else frame.pixels
    with path.open("wb") as file:
        Image.fromarray(np.ascontiguousarray(pixels)).save(file, "JPEG", icc_profile=frame.icc, **options)
    return ()


def _probe(path: Path, picture: JpegImageFile) -> Probe:
    channels = _CHANNELS.get(picture.mode)
    if channels is None:
        raise FrameError(path, f"the JPEG holds {picture.mode}, which poise doesn't correct; save it as grey or RGB")
    return checked(path, Probe(picture.width, picture.height, Depth.U8, channels, False, "jpeg"))
