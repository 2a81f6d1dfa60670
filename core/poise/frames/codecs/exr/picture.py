"""Which part and which channels of an OpenEXR file are the picture to correct; what can't be corrected is refused."""

import struct
from dataclasses import dataclass
from pathlib import Path

from poise.errors import FrameError
from poise.frames.codecs.exr.file import DEEP, SEVERAL, Attributes, channels, headers
from poise.frames.codecs.shared import Probe, checked
from poise.frames.frame import Depth

_DEPTHS = {1: Depth.HALF, 2: Depth.FLOAT}


@dataclass(frozen=True)
class Picture:
    """The picture within a file.

    Attributes:
        probe: its summary.
        part: the number of its part.
        names: its channels: Y or R, G, B, then A if that has the same depth.
        compression: as the file codes it.
    """

    probe: Probe
    part: int
    names: tuple[str, ...]
    compression: int

    @property
    def shape(self) -> tuple[int, int, int]:
        return self.probe.height, self.probe.width, self.probe.channels


def picture(path: Path, data: bytes) -> Picture:
    """The one picture of a file, from its headers.

    Raises:
        FrameError: there is none, there are several, or it is stored in a way that poise refuses by name.
        ValueError: the headers are damaged or cut short.
    """

    def refuse(what: str) -> FrameError:
        return FrameError(
            path, f"the OpenEXR file holds {what}, which poise doesn't correct; save Y or R, G, B, A of half or float"
        )

    version, found, _ = headers(data)
    holding = [part for part, header in enumerate(found) if _base(header)]
    if (not version & SEVERAL and version & DEEP) or (len(found) == 1 and _deep(found[0])):
        raise refuse("deep data")
    if not holding:
        named = [name.decode("utf-8", "replace") for header in found for name, *_ in channels(header)]
        raise refuse(f"the channels {', '.join(named)[:80]}")
    if len(holding) > 1:
        raise refuse(f"more than one part with a picture ({', '.join(_named(found[part]) for part in holding)})")
    header = found[holding[0]]
    if _deep(header):
        raise refuse("deep data")
    stored = {name: (kind, sampling) for name, kind, sampling in channels(header)}
    base = _base(header)
    kinds = {stored[name][0] for name in base}
    if len(kinds) > 1:
        raise refuse("colour channels of mixed depths")
    (kind,) = kinds
    if kind not in _DEPTHS:
        raise refuse("uint values")
    if any(sampling != (1, 1) for _, sampling in stored.values()):
        raise refuse("subsampled channels")
    if b"tiles" in header and header[b"tiles"][1][8] & 15:
        raise refuse("mipmaps")
    names = [*base, b"A"] if stored.get(b"A") == (kind, (1, 1)) else base
    left, top, right, bottom = struct.unpack("<4i", header[b"dataWindow"][1])
    summary = Probe(right - left + 1, bottom - top + 1, _DEPTHS[kind], len(names), True, "exr")
    return Picture(
        checked(path, summary), holding[0], tuple(name.decode() for name in names), header[b"compression"][1][0]
    )


def _base(header: Attributes) -> list[bytes]:
    names = {name for name, *_ in channels(header)}
    for wanted in ([b"R", b"G", b"B"], [b"Y"]):
        if names.issuperset(wanted):
            return wanted
    return []


def _deep(header: Attributes) -> bool:
    return header.get(b"type", (b"", b""))[1].startswith(b"deep")


def _named(header: Attributes) -> str:
    return header.get(b"name", (b"", b"unnamed"))[1].decode("utf-8", "replace")[:30]
