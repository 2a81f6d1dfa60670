"""OpenEXR of half and float, by the OpenEXR library; values are kept bit for bit, NaN and infinity included.

The library sees only the attributes that decide how pixels are stored; all others are copied as bytes.

Kept: every attribute of any type, data and display window, compression with its level, line order, tiles, other
channels of any depth, other parts. The preview and the smaller levels of a mipmap are drawn again. All views of a
stereo file are corrected alike. Alpha is premultiplied by the format's convention. Refused by name: files without R, G,
B or Y, several parts that have them and are not views, colour in unsigned integers, subsampled channels other than RY
and BY, deep pictures, ripmaps.
"""

import io
import struct
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from types import MappingProxyType
from typing import Any

import numpy as np
import OpenEXR

from poise.frames.codecs import carried
from poise.frames.codecs.exr.chroma import from_rgb, to_rgb, weights
from poise.frames.codecs.exr.file import DEEP, SEVERAL, TILED, Attributes, Part, build, parse, retyped
from poise.frames.codecs.exr.levels import halved, joined, split
from poise.frames.codecs.exr.picture import FLOAT, HALF, View, views
from poise.frames.codecs.exr.preview import drawn
from poise.frames.codecs.exr.times import TIMES, from_attributes, to_attributes
from poise.frames.codecs.shared import Probe
from poise.frames.frame import Depth, Frame, Pixels
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


@dataclass(frozen=True)
class _Level:
    """One level of a part: its size, the library's header, and the channels that belong to no view."""

    width: int
    height: int
    header: Mapping[str, Any]
    others: Mapping[str, Any]


@dataclass(frozen=True)
class _Source:
    """The file that a frame was read from.

    Attributes:
        version: the version field.
        parts: all parts as bytes.
        views: its pictures.
        levels: the levels of each part with a picture, by the number of the part; the whole picture first.
        linear: the flag `pLinear` of the views' channels, by part and name.
    """

    version: int
    parts: Sequence[Part]
    views: Sequence[View]
    levels: Mapping[int, Sequence[_Level]]
    linear: Mapping[tuple[int, str], bool]


def probe(path: Path) -> Probe:
    with path.open("rb") as file:
        return views(path, file)[0].probe


def read(path: Path) -> Frame:
    data = path.read_bytes()
    chosen = views(path, io.BytesIO(data))
    version, parts = parse(data)
    own: dict[int, dict[str, Any]] = {}
    levels: dict[int, list[_Level]] = {}
    for number in dict.fromkeys(view.part for view in chosen):
        names = {name for view in chosen if view.part == number for name in view.kinds}
        for part in split(parts[number]):
            header, stored = _decoded(version, part)
            own.setdefault(number, {name: stored[name] for name in names})
            left, top, right, bottom = struct.unpack("<4i", part.attributes[b"dataWindow"][1])
            others = {name: channel for name, channel in stored.items() if name not in names}
            levels.setdefault(number, []).append(_Level(right - left + 1, bottom - top + 1, header, others))
    linear = {(number, name): bool(one.pLinear) for number, found in own.items() for name, one in found.items()}
    source = _Source(version, parts, chosen, levels, linear)
    first, *further = [_frame(view, own[view.part], parts[view.part].attributes) for view in chosen]
    carry = {"format": "exr", "source": source, "holds": _holds(source)}
    timing = from_attributes(parts[chosen[0].part].attributes)
    return replace(first, views=tuple(further), timing=timing, carry=MappingProxyType(carry))


def write(path: Path, frame: Frame, stamp: str | None) -> tuple[str, ...]:
    source: _Source | None = carried(frame, "exr").get("source")
    frames = [frame, *frame.views]
    if source is None or [view.shape for view in source.views] != [one.pixels.shape for one in frames]:
        kind = HALF if frame.depth is Depth.HALF else FLOAT
        header = {"compression": OpenEXR.ZIP_COMPRESSION, "type": OpenEXR.scanlineimage}
        names = _LAYOUTS[frame.channels]
        plain = {name: frame.pixels[..., index] for index, name in enumerate(names)}
        version, made = _encoded(header, plain, dict.fromkeys(names, kind))
        attributes = {**made.attributes, **to_attributes(frame.timing)}
        _save(path, version, [Part(_stamped(attributes, stamp), made.chunks)])
        return ()
    parts, notes = list(source.parts), _again(source)
    for number in source.levels:
        mine = [pair for pair in zip(source.views, frames, strict=True) if pair[0].part == number]
        attributes = dict(parts[number].attributes)
        kinds = _kinds(mine)
        attributes[b"channels"] = retyped(attributes, {name.encode(): kind for name, kind in kinds.items()})
        if b"preview" in attributes:
            attributes[b"preview"] = b"preview", drawn(mine[0][1].pixels, attributes[b"preview"][1])
        if frame.recoded and b"chromaticities" in attributes:
            del attributes[b"chromaticities"]
            notes += ("not kept: chromaticities, which are no longer those of the output",)
        planes, clipped = _planes(mine, attributes)
        notes += clipped
        parts[number] = Part(_stamped(attributes, stamp), _chunks(source, number, planes, kinds))
    _save(path, source.version, parts)
    return tuple(dict.fromkeys(notes))


def _decoded(version: int, part: Part) -> tuple[Mapping[str, Any], Mapping[str, Any]]:
    """The library's header and channels of a part of one level."""
    alone = io.BytesIO()
    flags = version & ~(SEVERAL | TILED | DEEP) | (TILED if b"tiles" in part.attributes else 0)
    build(alone, flags, [Part(_needed(part.attributes), part.chunks)])
    with suppress_python_output():  # on damaged chunks it prints a message besides raising
        file = OpenEXR.File(alone, separate_channels=True)
    return dict(file.header()), dict(file.channels())


def _frame(view: View, stored: Mapping[str, Any], attributes: Attributes) -> Frame:
    planes = [stored[name].pixels for name in view.kinds]
    pixels = np.empty(view.shape, view.probe.depth.dtype)
    if view.chroma:
        with np.errstate(over="ignore"):
            pixels[..., :3] = to_rgb(planes[0], planes[1], planes[2], weights(attributes))
        planes[:3] = np.moveaxis(pixels[..., :3], 2, 0)
    for index, plane in enumerate(planes):
        pixels[..., index] = plane
    return Frame(pixels, view.probe.depth, linear=True, premultiplied=view.probe.channels in (2, 4))


def _planes(
    pictures: Sequence[tuple[View, Frame]], attributes: Attributes
) -> tuple[Mapping[str, Pixels], tuple[str, ...]]:
    """The pixels of each channel of the views, and a note on values that a channel can't hold."""
    made: dict[str, Pixels] = {}
    notes: tuple[str, ...] = ()
    for view, frame in pictures:
        planes = list(np.moveaxis(frame.pixels, 2, 0))
        if view.chroma:
            if bool((frame.pixels[..., :3] < 0).any()):
                notes = ("negative colour became 0: luminance and chroma hold none",)
            planes[:3] = from_rgb(frame.pixels[..., :3], weights(attributes))
        made |= zip(view.kinds, planes, strict=True)
    return made, notes


def _kinds(pictures: Sequence[tuple[View, Frame]]) -> Mapping[str, int]:
    """The pixel type of each channel of the output: the stored one, or that of the new depth."""
    made: dict[str, int] = {}
    for view, frame in pictures:
        for name, kind in view.kinds.items():
            made[name] = kind if frame.depth is view.probe.depth else HALF if frame.depth is Depth.HALF else FLOAT
    return made


def _chunks(
    source: _Source, number: int, planes: Mapping[str, Pixels], kinds: Mapping[str, int]
) -> list[tuple[int, memoryview]]:
    """All levels of a part, coded; the smaller ones are made of the planes."""
    made: list[Part] = []
    linear = {name: source.linear[number, name] for name in kinds}
    for level in source.levels[number]:
        if made:
            planes = {name: halved(one.astype(np.float32), level.width, level.height) for name, one in planes.items()}
        made.append(_encoded(level.header, planes, kinds, level.others, linear)[1])
    return joined(made)


def _encoded(
    header: Mapping[str, Any],
    planes: Mapping[str, Pixels],
    kinds: Mapping[str, int],
    others: Mapping[str, Any] = MappingProxyType({}),
    linear: Mapping[str, bool] = MappingProxyType({}),
) -> tuple[int, Part]:
    """One level as the library codes it, with the version field."""
    channels = dict(others)
    full = next(iter(planes.values())).shape
    for name, plane in planes.items():
        with np.errstate(over="ignore"):
            stored = np.ascontiguousarray(plane, np.float16 if kinds[name] == HALF else np.float32)
        sampling = full[0] // stored.shape[0]
        if sampling > 1:  # the binding expects an array of full size, and reads the samples from its start
            rest = np.zeros(int(np.prod(full)) - stored.size, stored.dtype)
            stored = np.concatenate([stored.ravel(), rest]).reshape(full)
        channels[name] = OpenEXR.Channel(stored, sampling, sampling, linear.get(name, False))
    memory = io.BytesIO()
    OpenEXR.File(dict(header), channels).write(memory)
    version, (made,) = parse(memory.getvalue())
    return version, made


def _stamped(attributes: Attributes, stamp: str | None) -> Attributes:
    if not stamp:
        return attributes
    earlier = attributes.get(_STAMP, (b"", b""))[1]
    return dict(attributes) | {_STAMP: (b"string", b"; ".join([*([earlier] if earlier else []), stamp.encode()]))}


def _save(path: Path, version: int, parts: Sequence[Part]) -> None:
    with path.open("wb") as file:
        build(file, version, parts)


def _needed(attributes: Attributes) -> Attributes:
    return {name: attributes[name] for name in _NEEDED if name in attributes}


def _again(source: _Source) -> tuple[str, ...]:
    """A note on channels that belong to no view and yet lose quality, since whole chunks are compressed again."""
    notes = []
    for number, levels in source.levels.items():
        code = source.parts[number].attributes[b"compression"][1][0]
        lossy = [name for name, channel in levels[0].others.items() if _loses(code, name, channel)]
        notes += [f"channels {_few(lossy)} were compressed again by {_LOSSY[code]}, with loss"] if lossy else []
    return tuple(notes)


def _loses(code: int, name: str, channel: Any) -> bool:
    """Whether a compression is lossy on a channel; for DWA, the last part of the name decides."""
    if code in (5, 6, 7):
        return bool(channel.pixels.dtype == (np.float32 if code == 5 else np.float16))
    return code in _LOSSY and name.rpartition(".")[2].lower() in _COLOURS


def _holds(source: _Source) -> tuple[str, ...]:
    """The metadata that another format can't keep, as in `poise.frames.codecs.left_behind`."""
    first = source.views[0].part
    beyond = [
        name.decode("utf-8", "replace")
        for name in source.parts[first].attributes
        if name not in (*_NEEDED, *TIMES, b"name", b"type", b"chunkCount")
    ]
    others = source.levels[first][0].others
    found = [f"attributes {_few(beyond)}"] if beyond else []
    found += [f"channels {_few(others)}"] if others else []
    found += [f"the view {view.name}" for view in source.views[1:]]
    found += ["other parts"] if len(source.parts) > len(source.levels) else []
    return tuple(found)


def _few(names: Any) -> str:
    listed = sorted(names)
    return " ".join(listed[:8]) + (f" and {len(listed) - 8} more" if len(listed) > 8 else "")
