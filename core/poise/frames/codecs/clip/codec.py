"""Reads single frames of clips: 8 to 16 bit, Y'CbCr 4:2:0 to 4:4:4, RGB and grey, with or without alpha.

Pixels keep the depth and the range of the clip's codes; Y'CbCr is converted to R'G'B' at full resolution.
"""

import os
from functools import lru_cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

import numpy as np

from poise.frames.clip_frame import Codes
from poise.frames.codecs.clip import planes
from poise.frames.codecs.clip.container import REPACKED, Clip
from poise.frames.codecs.clip.facts import timecode
from poise.frames.codecs.shared import Probe
from poise.frames.frame import Frame, Pixels
from poise.frames.timing import Timing
from poise.stamp import Stamp, stamp


def opened(path: Path) -> Clip:
    """Opens a clip; the four used last stay open while their files are unchanged.

    Args:
        path: of the movie, or a `ClipFrame` of it.

    Raises:
        FrameError: as `Clip`.

    Example:
        opened(Path("quay_04.mov")).count
    """
    return _opened(Path(str(path)), stamp(path), os.getpid())


@lru_cache(maxsize=4)
def _opened(path: Path, _: Stamp, __: int) -> Clip:
    """The process id is part of the key, since forked processes would share one file position."""
    return Clip(path)


def probe(path: Path) -> Probe:
    facts = opened(path).facts
    return Probe(facts.width, facts.height, facts.depth, facts.channels, False, "clip", facts.tags)


def read(path: Path) -> Frame:
    clip = opened(path)
    codes: Codes | None = getattr(path, "codes", None)
    facts = clip.facts.under(codes) if codes else clip.facts
    decoded = clip.decoded(_number(path))
    if decoded.format.name in REPACKED:  # the same samples in another order
        decoded = decoded.reformat(format=REPACKED[decoded.format.name])
    pixels: Pixels
    samples = [_samples(decoded, place) for place in range(len(decoded.format.components))]
    if facts.matrix == "grey":
        pixels = samples[0][..., None].copy()
    elif facts.matrix == "RGB":
        pixels = np.stack(samples, axis=-1)
    else:
        pixels = planes.rgb(samples[:3], facts.depth.bits, facts.matrix, facts.tags.range == "narrow")
        if len(samples) == 4:
            pixels = np.concatenate([pixels, samples[3][..., None]], axis=-1)
    rotated = f"players rotate it by {decoded.rotation} degrees; its frames are processed as stored"
    held = (("sound", facts.sound), ("metadata of the movie", True))
    timing = Timing(facts.rate, timecode(facts.timecode, facts.rate, _number(path) - 1))
    carry = {
        "format": "clip",
        "source_notes": facts.notes + (rotated,) * bool(decoded.rotation),
        "holds": tuple(name for name, there in held if there),
    }
    return Frame(pixels, facts.depth, tags=facts.tags, timing=timing, carry=MappingProxyType(carry))


def _number(path: Path) -> int:
    return getattr(path, "number", 0) or 1


def _samples(decoded: Any, place: int) -> planes.Plane:
    """The samples of one component, (height, width); components are in the order of FFmpeg's format, Y or R first."""
    part = decoded.format.components[place]
    plane = decoded.planes[part.plane]
    kind = np.dtype(np.uint8 if part.bits == 8 else np.uint16)
    stored = kind.newbyteorder(">") if decoded.format.is_big_endian else kind
    rows = np.frombuffer(plane, stored).reshape(plane.height, plane.line_size // kind.itemsize)
    return rows[:, : plane.width].astype(kind, copy=False)
