"""Finds the pictures to correct among the parts and channels of an OpenEXR file, or refuses it.

A stereo file holds one picture per view: in channels of one part (`R`, `right.R`) or in parts of their own.

Source: "Storing Multi-View Images in OpenEXR Files" (openexr.com): the attributes `multiView` and `view`.
"""

import struct
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from poise.errors import FrameError
from poise.frames.codecs.exr.file import DEEP, SEVERAL, Attributes, channels, headers
from poise.frames.codecs.exr.levels import RIPMAP, mode
from poise.frames.codecs.shared import Probe, checked
from poise.frames.frame import Depth

HALF, FLOAT = 1, 2
_COLOURS = (b"R", b"G", b"B"), (b"Y", b"RY", b"BY"), (b"Y",)


@dataclass(frozen=True)
class View:
    """One picture in a file.

    Attributes:
        name: the name of the view, such as `left`; empty if the file names none.
        part: the number of its part.
        kinds: its channels (R, G, B or Y, RY, BY or Y, then A), each with its pixel type; a float one makes the picture
            float.
        probe: its summary.
    """

    name: str
    part: int
    kinds: Mapping[str, int]
    probe: Probe

    @property
    def chroma(self) -> bool:
        """Whether colour is stored as luminance, and chroma at half the width and height."""
        return self.probe.channels > 2 and next(iter(self.kinds)).rpartition(".")[2] == "Y"

    @property
    def shape(self) -> tuple[int, int, int]:
        return self.probe.height, self.probe.width, self.probe.channels


def views(path: Path, file: BinaryIO) -> tuple[View, ...]:
    """The pictures of a file, from its headers: one, or one per view with the default view first.

    Raises:
        FrameError: there is none, there are several of one view, or one is stored in a way that poise refuses by name.
        ValueError, struct.error: the headers are damaged or cut short.
    """

    def refuse(what: str) -> FrameError:
        return FrameError(
            path, f"the OpenEXR file holds {what}, which poise doesn't correct; save Y or R, G, B, A of half or float"
        )

    version, found = headers(file)
    deep = [_deep(header) or (not version & SEVERAL and bool(version & DEEP)) for header in found]
    listed = [(number, *one) for number, header in enumerate(found) for one in _bases(header)]
    holding = [one for one in listed if not deep[one[0]]]
    if not holding and (listed or all(deep)):
        raise refuse("deep data")
    if not holding:
        named = [name.decode("utf-8", "replace") for header in found for name, *_ in channels(header)]
        raise refuse(f"the channels {', '.join(named)[:80]}")
    if len({name for _, name, _ in holding}) < len(holding):
        parts = ", ".join(_named(found[number]) for number, *_ in holding)
        raise refuse(f"more than one part with a picture ({parts[:80]})")
    made = []
    for number, name, base in holding:
        header = found[number]
        stored = {channel: (kind, sampling) for channel, kind, sampling in channels(header)}
        kinds = {channel: stored[channel][0] for channel in base}
        if not set(kinds.values()) <= {HALF, FLOAT}:
            raise refuse("uint values")
        left, top, right, bottom = struct.unpack("<4i", header[b"dataWindow"][1])
        sampled = {channel: sampling for channel, (_, sampling) in stored.items()}
        if len(base) == 3 and base[0].endswith(b"Y"):
            sampled = {channel: (1, 1) if channel in base[1:] else at for channel, at in sampled.items()}
            halves = all(stored[channel][1] == (2, 2) for channel in base[1:])
            if not halves or left % 2 or top % 2 or not right % 2 or not bottom % 2:
                raise refuse("chroma that isn't half as wide and high as its luminance")
        if any(sampling != (1, 1) for sampling in sampled.values()):
            raise refuse("subsampled channels")
        if mode(header) == RIPMAP:
            raise refuse("ripmaps")
        alpha = base[-1].rpartition(b".")[0] + b"." * (b"." in base[-1]) + b"A"
        if stored.get(alpha, (0,))[0] in (HALF, FLOAT):
            kinds[alpha] = stored[alpha][0]
        depth = Depth.FLOAT if FLOAT in kinds.values() else Depth.HALF
        summary = checked(path, Probe(right - left + 1, bottom - top + 1, depth, len(kinds), True, "exr"))
        made.append(View(name, number, {channel.decode(): kind for channel, kind in kinds.items()}, summary))
    return tuple(made)


def _bases(header: Attributes) -> Iterator[tuple[str, list[bytes]]]:
    """Each view that a part has a picture of, with the channels of its colour."""
    names = {name for name, *_ in channels(header)}
    listed = _strings(header.get(b"multiView", (b"", b""))[1]) or [header.get(b"view", (b"", b""))[1]]
    for number, view in enumerate(listed):
        prefixes = [b""] * (number == 0) + [view + b"."] * (len(listed) > 1)
        bases = ([prefix + name for name in wanted] for wanted in _COLOURS for prefix in prefixes)
        base = next((base for base in bases if names.issuperset(base)), None)
        if base:
            yield view.decode("utf-8", "replace"), base


def _strings(value: bytes) -> list[bytes]:
    """The strings in a `stringvector`."""
    found, at = [], 0
    while at + 4 <= len(value):
        (length,) = struct.unpack_from("<I", value, at)
        found.append(value[at + 4 : at + 4 + length])
        at += 4 + length
    return found


def _deep(header: Attributes) -> bool:
    return header.get(b"type", (b"", b""))[1].startswith(b"deep")


def _named(header: Attributes) -> str:
    return header.get(b"name", (b"", b"unnamed"))[1].decode("utf-8", "replace")[:30]
