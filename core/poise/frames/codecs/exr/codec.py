"""OpenEXR of half and float, by the OpenEXR library: values are kept bit for bit, NaN and infinity among them.

The library sees only the attributes that say how pixels are stored; all others go from header to header as bytes.

Kept: every attribute of any type, data and display window, compression with its level, line order, tiles, channels
beyond the picture's own whatever their depth, other parts; the preview is drawn anew. Alpha is premultiplied by the
format's convention and stands as stored. Refused by name: files without R, G, B or Y, several parts that have them,
colour of mixed depths or unsigned integers, subsampled colour, deep pictures, mipmaps.
"""

import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import Any

import numpy as np
import OpenEXR

from poise.frames.codecs import carried
from poise.frames.codecs.exr.file import DEEP, SEVERAL, TILED, Attributes, Part, build, parse, retyped
from poise.frames.codecs.exr.picture import Picture, picture
from poise.frames.codecs.exr.preview import drawn
from poise.frames.codecs.shared import Probe
from poise.frames.frame import Depth, Frame
from poise.native_output import suppress_python_output

_LAYOUTS = {1: ("Y",), 2: ("Y", "A"), 3: ("R", "G", "B"), 4: ("R", "G", "B", "A")}
_NEEDED = (
    b"channels",
    b"compression",
    b"dataWindow",
    b"displayWindow",
    b"lineOrder",
    b"pixelAspectRatio",
    b"screenWindowCenter",
    b"screenWindowWidth",
    b"tiles",
    b"dwaCompressionLevel",
)
_LOSSY = {5: "PXR24", 6: "B44", 7: "B44A", 8: "DWAA", 9: "DWAB"}
_COLOURS = {"r", "g", "b", "y", "ry", "by", "red", "green", "blue"}
_STAMP = b"poise"
_HEAD = 2**16


@dataclass(frozen=True)
class _Source:
    """The file that a frame was read from: the library's header and other channels, and all that it never saw."""

    version: int
    parts: Sequence[Part]
    picture: Picture
    header: Mapping[str, Any]
    linear: Mapping[str, bool]
    others: Mapping[str, Any]


def probe(path: Path) -> Probe:
    with path.open("rb") as file:
        head = file.read(_HEAD)
        try:
            return picture(path, head).probe
        except ValueError:
            return picture(path, head + file.read()).probe


def read(path: Path) -> Frame:
    data = path.read_bytes()
    chosen = picture(path, data)
    header, names = chosen.probe, chosen.names
    version, parts = parse(data)
    part = parts[chosen.part]
    alone = io.BytesIO()
    flags = version & ~(SEVERAL | TILED | DEEP) | (TILED if b"tiles" in part.attributes else 0)
    build(alone, flags, [Part(_needed(part.attributes), part.chunks)])
    with suppress_python_output():  # of damaged chunks it prints as well as raises
        file = OpenEXR.File(alone, separate_channels=True)
    stored = file.channels()
    colour = [stored[name] for name in names]
    pixels = np.empty((header.height, header.width, header.channels), header.depth.dtype)
    for index, channel in enumerate(colour):
        pixels[..., index] = channel.pixels
    source = _Source(
        version,
        parts,
        chosen,
        MappingProxyType(dict(file.header())),
        {name: bool(channel.pLinear) for name, channel in zip(names, colour, strict=True)},
        {name: channel for name, channel in stored.items() if name not in names},
    )
    carry = {"format": "exr", "source": source, "holds": _holds(source)}
    return Frame(pixels, header.depth, linear=True, carry=MappingProxyType(carry))


def write(path: Path, frame: Frame, stamp: str | None) -> tuple[str, ...]:
    source: _Source | None = carried(frame, "exr").get("source")
    if source is not None and source.picture.shape != frame.pixels.shape:
        source = None
    names = source.picture.names if source else _LAYOUTS[frame.channels]
    planes = np.ascontiguousarray(np.moveaxis(frame.pixels, 2, 0))
    linear = source.linear if source else {}
    channels = {
        name: OpenEXR.Channel(plane, 1, 1, linear.get(name, False)) for name, plane in zip(names, planes, strict=True)
    } | dict(source.others if source else {})
    header = dict(source.header) if source else {"compression": OpenEXR.ZIP_COMPRESSION, "type": OpenEXR.scanlineimage}
    memory = io.BytesIO()
    OpenEXR.File(header, channels).write(memory)
    version, (made,) = parse(memory.getvalue())
    attributes, parts, at, notes = dict(made.attributes), [made], 0, _again(source)
    if source:
        version, parts, at = source.version, list(source.parts), source.picture.part
        attributes = dict(parts[at].attributes)
        kind = 1 if frame.depth is Depth.HALF else 2
        attributes[b"channels"] = retyped(attributes, [name.encode() for name in names], kind)
        if b"preview" in attributes:
            attributes[b"preview"] = b"preview", drawn(frame.pixels, attributes[b"preview"][1])
        if frame.recoded and b"chromaticities" in attributes:
            del attributes[b"chromaticities"]
            notes += ("not kept: chromaticities, which are no longer those of the output",)
    if stamp:
        earlier = attributes.get(_STAMP, (b"", b""))[1]
        attributes[_STAMP] = b"string", b"; ".join([*([earlier] if earlier else []), stamp.encode()])
    parts[at] = Part(attributes, made.chunks)
    with path.open("wb") as file:
        build(file, version, parts)
    return notes


def _needed(attributes: Attributes) -> Attributes:
    return {name: attributes[name] for name in _NEEDED if name in attributes}


def _again(source: _Source | None) -> tuple[str, ...]:
    """A note on channels that are not the picture's own and yet lose, since all of a chunk is compressed anew."""
    code = source.picture.compression if source else 0
    lost = [name for name, channel in source.others.items() if _loses(code, name, channel)] if source else []
    return (f"channels {_few(lost)} were compressed again by {_LOSSY[code]}, with loss",) if lost else ()


def _loses(code: int, name: str, channel: Any) -> bool:
    """Whether a compression loses on such a channel; DWA does by the last part of the name."""
    if code in (5, 6, 7):
        return bool(channel.pixels.dtype == (np.float32 if code == 5 else np.float16))
    return code in _LOSSY and name.rpartition(".")[2].lower() in _COLOURS


def _holds(source: _Source) -> tuple[str, ...]:
    """What another format doesn't take, in few words."""
    own = source.parts[source.picture.part].attributes
    beyond = [
        name.decode("utf-8", "replace") for name in own if name not in (*_NEEDED, b"name", b"type", b"chunkCount")
    ]
    found = [f"attributes {_few(beyond)}"] if beyond else []
    found += [f"channels {_few(source.others)}"] if source.others else []
    found += ["other parts"] if len(source.parts) > 1 else []
    return tuple(found)


def _few(names: Any) -> str:
    listed = sorted(names)
    return " ".join(listed[:8]) + (f" and {len(listed) - 8} more" if len(listed) > 8 else "")
