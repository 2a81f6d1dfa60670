"""Clips made on the spot by PyAV, from planes that the test knows."""

from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import numpy as np

Planes = Sequence[np.ndarray]


def noise(layout: str, width: int = 64, height: int = 36, seed: int = 0) -> list[np.ndarray]:
    """Random codes in every plane of a layout, within narrow range."""
    shape, random = av.VideoFormat(layout, width, height), np.random.default_rng(seed)
    bits = shape.components[0].bits
    planes = []
    for place in range(len({part.plane for part in shape.components})):
        chroma = place in (1, 2) and not shape.is_rgb
        size = (shape.chroma_height(height), shape.chroma_width(width)) if chroma else (height, width)
        codes = random.integers(16 << (bits - 8), 236 << (bits - 8), size)
        planes.append(codes.astype(np.uint8 if bits == 8 else np.uint16))
    return planes


def greys(codes: Sequence[int], layout: str = "yuv420p", width: int = 64, height: int = 36) -> list[Planes]:
    """One even grey picture for each code of luma."""
    frames = []
    for code in codes:
        planes = noise(layout, width, height)
        bits = av.VideoFormat(layout, width, height).components[0].bits
        for place, plane in enumerate(planes):
            plane[:] = code if place in (0, 3) else 1 << (bits - 1)
        frames.append(planes)
    return frames


def clip(
    path: Path,
    codec: str,
    layout: str,
    frames: Sequence[Planes],
    options: dict[str, str] | None = None,
    sound: bool = False,
    timecode: str = "",
    metadata: dict[str, str] | None = None,
    rotation: int = 0,
    stamps: Sequence[int] | None = None,
    chapters: Sequence[str] = (),
    **context: Any,
) -> Path:
    """Writes a clip of 25 frames a second; `context` has tags by the names of PyAV's codec context."""
    height, width = frames[0][0].shape
    with av.open(f"file:{path}", "w") as container:
        container.metadata.update(metadata or {})
        if timecode:
            container.metadata["timecode"] = timecode
        second = {"time_base": Fraction(1, 25), "end": len(frames)}
        named = [{"id": place, "start": place, "metadata": {"title": name}} for place, name in enumerate(chapters)]
        container.set_chapters([{**second, **one} for one in named])  # type: ignore[typeddict-item]
        stream = container.add_stream(codec, rate=25, options=options or {})
        stream.width, stream.height, stream.pix_fmt = width, height, layout
        if rotation:
            stream.set_display_rotation(rotation)
        stream.codec_context.time_base = Fraction(1, 25)
        for name, value in context.items():
            setattr(stream.codec_context, name, value)
        audio = container.add_stream("pcm_s16le", rate=48000, layout="mono") if sound else None
        for number, planes in enumerate(frames):
            frame = av.VideoFrame(width, height, layout)
            for plane, codes in zip(frame.planes, planes, strict=True):
                padded = np.zeros((plane.height, plane.line_size // codes.itemsize), codes.dtype)
                padded[:, : codes.shape[1]] = codes
                plane.update(padded.tobytes())
            frame.pts = stamps[number] if stamps else number
            for name in ("colorspace", "color_range", "color_primaries", "color_trc"):
                if name in context:
                    setattr(frame, name, context[name])
            container.mux(stream.encode(frame))
        container.mux(stream.encode())
        if audio is not None:
            tone = (8000 * np.sin(np.arange(1920 * len(frames)) / 9)).astype(np.int16)
            heard = av.AudioFrame.from_ndarray(tone[None], "s16", "mono")
            heard.sample_rate, heard.pts = 48000, 0
            container.mux(audio.encode(heard))
            container.mux(audio.encode())
    return path
