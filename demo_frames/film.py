"""Writes the clip of the reel: ProRes 422 LT in MOV, 24 frames a second, with timecode and a boat's horn."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path

import av
import colour
import numpy as np
from canvas import Array

RATE, SAMPLES = 24, 48000
BT709 = {"color_range": 1, "colorspace": 1, "color_primaries": 1, "color_trc": 1}
"""Narrow range, and matrix, primaries and transfer function of ITU-R BT.709 (ITU-T H.273)."""


def planes(light: Array) -> list[Array]:
    """Return light as the planes of Y'CbCr 4:2:2 in 10 bit (ITU-R BT.709-6), chroma filtered to every other column."""
    code = colour.models.oetf_BT709(np.clip(light, 0, 1))
    whole = colour.RGB_to_YCbCr(code, K=colour.WEIGHTS_YCBCR["ITU-R BT.709"], out_bits=10, out_legal=True)
    found = np.moveaxis(whole * 1023, -1, 0)
    wide = np.pad(found[1:], ((0, 0), (0, 0), (1, 1)), mode="edge")
    chroma = (wide[..., :-2:2] + 2 * wide[..., 1:-1:2] + wide[..., 2::2]) / 4
    return [np.rint(plane).astype(np.uint16) for plane in (found[0], *chroma)]


def horn(seconds: float) -> Array:
    """Return the sound of a horn in 16 bit: two low notes that swell and fade."""
    time = np.arange(round(seconds * SAMPLES)) / SAMPLES
    notes = sum(np.sin(2 * np.pi * pitch * time) / part for pitch in (110, 138.6) for part in (1, 2))
    return np.asarray(4000 * notes * np.sin(np.pi * time / seconds) ** 2, np.int16)


def write(path: Path, frames: Sequence[Array]) -> None:
    """Write a clip of frames in linear BT.709 light."""
    height, width = frames[0].shape[:2]
    with av.open(str(path), "w", options={"fflags": "+bitexact"}) as movie:
        movie.metadata["timecode"] = "10:00:00:00"
        stream = movie.add_stream("prores_ks", rate=RATE, options={"profile": "lt", "flags": "+bitexact"})
        stream.width, stream.height, stream.pix_fmt = width, height, "yuv422p10le"
        stream.codec_context.time_base = Fraction(1, RATE)
        sound = movie.add_stream("pcm_s16le", rate=SAMPLES, layout="mono")
        for name, point in BT709.items():
            setattr(stream.codec_context, name, point)
        for number, light in enumerate(frames):
            frame = av.VideoFrame(width, height, "yuv422p10le")
            for plane, codes in zip(frame.planes, planes(light), strict=True):
                rows = np.zeros((plane.height, plane.line_size // 2), np.uint16)
                rows[:, : codes.shape[1]] = codes
                plane.update(rows.tobytes())
            frame.pts = number
            for name, point in BT709.items():
                setattr(frame, name, point)
            movie.mux(stream.encode(frame))
        movie.mux(stream.encode())
        heard = av.AudioFrame.from_ndarray(horn(len(frames) / RATE)[None], "s16", "mono")
        heard.sample_rate, heard.pts = SAMPLES, 0
        movie.mux(sound.encode(heard))
        movie.mux(sound.encode())
