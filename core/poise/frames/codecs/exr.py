"""OpenEXR of half and float, by OpenImageIO: values are kept bit for bit, NaN and infinity among them.

Kept: all attributes that OpenImageIO reads, compression, data and display window, tiles. Alpha is premultiplied by the
format's convention and stands as stored. Refused by name: channels other than Y or R, G, B with or without A, mixed
depths, deep data, several parts, mipmaps.
"""

from pathlib import Path
from types import MappingProxyType
from typing import Any

import numpy as np
import OpenImageIO as oiio

from poise.errors import FrameError, OutputError
from poise.frames.codecs import carried
from poise.frames.codecs.exrwhole import whole
from poise.frames.codecs.shared import Probe, checked
from poise.frames.frame import Depth, Frame

_LAYOUTS = {1: ("Y",), 2: ("Y", "A"), 3: ("R", "G", "B"), 4: ("R", "G", "B", "A")}
_ZIP_LEVEL = 1
"""Measured on UHD half: a third quicker than the usual 4, 2 % larger; the file says zip all the same."""
_MISSPELLED = "its name is no UTF-8, which OpenEXR files need; rename it"
_DEPTHS = {"half": Depth.HALF, "float": Depth.FLOAT}


def probe(path: Path) -> Probe:
    source = _open(path)
    try:
        return _probe(path, source)
    finally:
        source.close()


def read(path: Path) -> Frame:
    source = _open(path)
    try:
        header = _probe(path, source)
        source.seek_subimage(0, 0)
        spec = source.spec().copy()
        pixels = source.read_image(0, 0, 0, header.channels, spec.format)
        if pixels is None or source.has_error:
            raise FrameError(path, f"the file is damaged or cut short ({_said(source)}); copy it again")
    finally:
        source.close()
    pixels = np.asarray(pixels, header.depth.dtype).reshape(header.height, header.width, header.channels)
    return Frame(pixels, header.depth, linear=True, carry=MappingProxyType({"format": "exr", "spec": spec}))


def write(path: Path, frame: Frame, stamp: str | None) -> tuple[str, ...]:
    kind = oiio.HALF if frame.depth is Depth.HALF else oiio.FLOAT
    source = carried(frame, "exr").get("spec")
    if source is not None and (source.height, source.width, source.nchannels) == frame.pixels.shape:
        spec = oiio.ImageSpec(source)
        spec.set_format(kind)
    else:
        spec = oiio.ImageSpec(frame.width, frame.height, frame.channels, kind)
        spec.channelnames = _LAYOUTS[frame.channels]
        spec.attribute("compression", "zip")
    compression = spec.getattribute("compression")
    if compression in ("zip", "zips"):
        spec.attribute("compression", f"{compression}:{_ZIP_LEVEL}")
    if not _spelled(path):
        raise OutputError(path, _MISSPELLED)
    out: Any = oiio.ImageOutput.create("openexr")
    # each of the three reports a full disk by its return value only
    done = out.open(str(path), spec) and out.write_image(np.ascontiguousarray(frame.pixels))
    if not (out.close() and done):
        raise OutputError(path, f"can't be written as OpenEXR: {_said(out)}")
    if not whole(path):
        raise OutputError(path, "the OpenEXR file was not written whole; see that the disk has space left")
    return ()


def _open(path: Path) -> Any:
    if not _spelled(path):
        raise FrameError(path, _MISSPELLED)
    source = oiio.ImageInput.open(str(path))
    if source is None:
        raise FrameError(path, f"the OpenEXR file can't be opened ({_brief(oiio.geterror())}); copy it again")
    return source


def _probe(path: Path, source: Any) -> Probe:
    def refuse(what: str) -> FrameError:
        return FrameError(
            path, f"the OpenEXR file holds {what}, which poise doesn't correct; save Y or R, G, B, A alone"
        )

    spec = source.spec()
    if spec.deep:
        raise refuse("deep data")
    if spec.channelformats:
        raise refuse("channels of mixed depths")
    if tuple(spec.channelnames) not in _LAYOUTS.values():
        raise refuse(f"the channels {', '.join(spec.channelnames)[:80]}")
    depth = _DEPTHS.get(str(spec.format))
    if depth is None:
        raise refuse(f"{spec.format} values")
    header = checked(path, Probe(spec.width, spec.height, depth, spec.nchannels, True, "exr"))
    if source.seek_subimage(0, 1):
        raise refuse("mipmaps")
    if source.seek_subimage(1, 0):
        raise refuse("more than one part")
    source.geterror()  # a seek past the end leaves one
    return header


def _spelled(path: Path) -> bool:
    """Whether OpenImageIO, which wants UTF-8, can be given this name."""
    return not any("\ud800" <= letter <= "\udfff" for letter in str(path))


def _said(library: Any) -> str:
    return _brief(library.geterror())


def _brief(text: str) -> str:
    return text.strip()[:120] or "no reason given"
