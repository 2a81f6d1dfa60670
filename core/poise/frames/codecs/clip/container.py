"""An open clip: the facts in its headers, the index of its frames, and frame-accurate access to them.

For intra-frame codecs the index is that of the container, so that no picture data is read; otherwise all packets are
read once. A frame is decoded from the nearest key frame before it.
"""

import threading
from bisect import bisect_right
from collections.abc import Iterator
from functools import cached_property
from pathlib import Path
from typing import Any, NamedTuple

import av
import av.error

from poise.errors import FrameError
from poise.frames import limits
from poise.frames.codecs.clip.facts import REFUSED, Facts, encoding
from poise.frames.frame import Depth

INTRA = ("prores", "dnxhd", "v210", "v410", "ffv1", "mjpeg", "png", "rawvideo", "cfhd", "jpeg2000", "dvvideo", "tiff")
"""Intra-frame codecs, of which every frame is a key frame; names of FFmpeg's libraries."""
MOST_FRAMES = 2**21
"""The largest number of frames that is read: more than nine hours at 60 frames per second."""
REPACKED = {
    "nv12": "yuv420p",
    "p010le": "yuv420p10le",
    "uyvy422": "yuv422p",
    "yuyv422": "yuv422p",
    "rgb24": "gbrp",
    "bgr24": "gbrp",
    "rgba": "gbrap",
    "bgra": "gbrap",
    "argb": "gbrap",
    "abgr": "gbrap",
    "rgb48le": "gbrp16le",
    "rgb48be": "gbrp16le",
    "rgba64le": "gbrap16le",
    "rgba64be": "gbrap16le",
}
"""Packed pixel formats, each with the planar format that holds the same samples."""


class _Index(NamedTuple):
    """The time stamps of all frames in order, and the indexes of the key frames."""

    stamps: tuple[int, ...]
    keys: tuple[int, ...]


class Clip:
    """A clip that stays open; threads may share it, as a lock admits one at a time to the decoder.

    Raises:
        FrameError: it can't be opened, has no picture or no frame, or poise doesn't read its pixel format or matrix.

    Example:
        Clip(Path("quay_04.mov")).facts.rate
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self._lock = threading.RLock()
        self._decoded: Iterator[Any] = iter(())
        self._next = -1
        """The index of the frame that the decoder returns next; below 0 if it must seek."""
        try:
            self._container = opened_container(path)
        except av.error.FFmpegError as fault:
            raise _damaged(path, fault) from fault
        if not self._container.streams.video:
            raise FrameError(path, "it has no picture; name a movie that has one")
        self._stream = self._container.streams.video[0]
        self._stream.thread_type = "SLICE"
        if not self._stream.codec_context or not self._stream.codec_context.pix_fmt:
            raise FrameError(path, "its codec is unknown or its first frame is damaged; export it with another codec")
        self.facts = self._facts()
        if not self.count:
            raise FrameError(path, "it has no frames; copy or export it again")

    @property
    def count(self) -> int:
        """The number of frames."""
        return len(self._index.stamps)

    @property
    def stamps(self) -> tuple[int, ...]:
        """The time stamps of all frames, in the time base of the stream."""
        return self._index.stamps

    @property
    def stream(self) -> Any:
        """The video stream."""
        return self._stream

    @property
    def layout(self) -> str:
        """The planar pixel format of its frames, as FFmpeg names it."""
        return REPACKED.get(self.facts.layout, self.facts.layout)

    def decoded(self, number: int) -> Any:
        """Decodes a frame.

        Args:
            number: of the frame, from 1.

        Returns:
            A `av.VideoFrame` in the pixel format of the clip.

        Raises:
            FrameError: there is no such frame, or it is damaged.
        """
        place = number - 1
        if not 0 <= place < self.count:
            raise FrameError(self.path, f"it has no frame {number}, only 1 to {self.count}")
        with self._lock:
            try:
                return self._found(place)
            except av.error.FFmpegError as fault:
                self._next = -1
                raise FrameError(self.path, f"frame {number} is damaged ({fault.strerror}); export it again") from fault

    def _found(self, place: int) -> Any:
        stamps, keys = self._index
        at = bisect_right(keys, place) - 1
        key = keys[max(at, 0)]
        if not (self._next >= 0 and max(key, self._next) == self._next <= place):
            self._seek(stamps[key])
        while True:
            for frame in self._decoded:
                if frame.pts is None or frame.pts == stamps[place]:
                    break
                if frame.pts > stamps[place]:
                    frame = None
                    break
            else:
                frame = None
            if frame is not None:
                self._next = place + 1
                if (frame.width, frame.height) != (self.facts.width, self.facts.height):
                    size = f"{frame.width} x {frame.height}"
                    raise FrameError(self.path, f"frame {place + 1} has another size ({size}); export it at one size")
                return frame
            at -= 1
            if at < 0:
                self._next = -1
                raise FrameError(self.path, f"frame {place + 1} can't be decoded; it is damaged, export it again")
            self._seek(stamps[keys[at]])

    def _seek(self, stamp: int) -> None:
        self._container.seek(stamp, stream=self._stream, backward=True)
        self._decoded = self._container.decode(self._stream)

    @cached_property
    def _index(self) -> _Index:
        stream = self._stream
        if stream.codec_context.name in INTRA:
            entries = [one for one in stream.index_entries or () if not one.is_discard]
            if len(entries) == stream.frames > 0:
                return _index(self.path, [(one.timestamp, True) for one in entries])
            rate, base = stream.average_rate, stream.time_base
            if self._container.format.name == "mxf" and stream.duration and rate and base:
                step, start = round(1 / (rate * base)), stream.start_time or 0
                count = min(stream.duration // max(step, 1), MOST_FRAMES + 1)
                return _index(self.path, [(start + place * step, True) for place in range(count)])
        found = []
        try:
            for packet in self._container.demux(stream):
                when = packet.pts if packet.pts is not None else packet.dts
                if packet.size and when is not None and not packet.is_discard:
                    found.append((when, packet.is_keyframe))
                if len(found) > MOST_FRAMES:
                    break
        except av.error.FFmpegError as fault:
            raise _damaged(self.path, fault) from fault
        return _index(self.path, found)

    def _facts(self) -> Facts:
        container, stream = self._container, self._stream
        context = stream.codec_context
        stored = context.pix_fmt or ""
        layout = REPACKED.get(stored, stored)
        shape = av.VideoFormat(layout, 16, 16)
        parts = shape.components
        depth = next((one for one in Depth if not one.is_float and one.bits == parts[0].bits), None)
        planes = {part.plane for part in parts}
        known = len(planes) == len(parts) in (1, 3, 4) and not shape.is_bit_stream and not shape.has_palette
        if depth is None or not known or layout.endswith(("f32le", "f32be", "f16le", "f16be")):
            raise FrameError(self.path, f"its pixel format is {stored}, which poise doesn't read; export it as ProRes")
        rgb = shape.is_rgb
        if not rgb and context.colorspace in REFUSED:
            name = REFUSED[context.colorspace]
            raise FrameError(self.path, f"its colour matrix is {name}, which poise doesn't read; export it in BT.709")
        channels = len(parts)
        limits.possible(self.path, context.width, context.height, channels * depth.dtype.itemsize)
        wide = 2 if layout.startswith("yuvj") else int(context.color_range)
        matrix, tags, assumed = encoding(
            int(context.colorspace), wide, int(context.color_primaries), int(context.color_trc), rgb, context.height
        )
        if channels == 1:
            matrix, assumed = "grey", tuple(one for one in assumed if not one.startswith("matrix"))
        written = [stream.metadata, container.metadata, *(one.metadata for one in container.streams.data)]
        return Facts(
            container.format.name.split(",")[0],
            context.name,
            context.profile or "",
            context.width,
            context.height,
            depth,
            channels,
            stored,
            matrix,
            tags,
            assumed,
            stream.average_rate,
            next((one["timecode"] for one in written if "timecode" in one), ""),
            (container.duration or 0) / av.time_base,
            context.field_order > 1,
            len(container.streams.audio),
        )


def opened_container(path: Path) -> Any:
    """Opens the container of a clip, in the format that its content shows; metadata that isn't UTF-8 is escaped.

    Raises:
        av.error.FFmpegError: it can't be opened.

    Example:
        opened_container(Path("quay_04.mov")).streams.video
    """
    only = {"protocol_whitelist": "file"}
    return av.open(f"file:{path}", format=_container(path), options=only, metadata_errors="surrogateescape")


def _container(path: Path) -> str:
    """The container format by the first bytes, so that FFmpeg tries no other demuxer."""
    with path.open("rb") as file:
        head = file.read(4)
    return {b"\x1a\x45\xdf\xa3": "matroska", b"\x06\x0e\x2b\x34": "mxf"}.get(head, "mov")


def _damaged(path: Path, fault: av.error.FFmpegError) -> FrameError:
    return FrameError(path, f"the movie is damaged or cut short ({fault.strerror}); copy it again")


def _index(path: Path, found: list[tuple[int, bool]]) -> _Index:
    if len(found) > MOST_FRAMES:
        raise FrameError(path, f"it has more than {MOST_FRAMES:,} frames, over the limit; save it in parts")
    found.sort()
    keys = tuple(place for place, (_, key) in enumerate(found) if key) or (0,)
    return _Index(tuple(stamp for stamp, _ in found), keys)
