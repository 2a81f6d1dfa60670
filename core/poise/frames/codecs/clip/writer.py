"""Writes a movie: encodes the corrected frames, and copies the other tracks from the source without decoding them."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import av
import numpy as np

from poise.colour.ranges import narrow_affine
from poise.frames.codecs.clip import planes
from poise.frames.codecs.clip.container import Clip, opened_container
from poise.frames.codecs.clip.facts import PRIMARIES, TRANSFERS
from poise.frames.codecs.clip.movies import Movie
from poise.frames.frame import Depth, Pixels
from poise.frames.tags import Tags

_MATRIX = {"BT.709": 1, "BT.601": 6, "BT.2020": 9}


def depth_of(movie: Movie, source: str) -> Depth:
    """The depth of the codes that a movie stores.

    Args:
        source: the pixel format of the source, as FFmpeg names it.

    Example:
        >>> from poise.frames.codecs.clip.movies import MOVIES
        >>> depth_of(MOVIES["prores-hq"], "yuv420p").bits
        10
    """
    bits = av.VideoFormat(movie.layout or source, 16, 16).components[0].bits
    return next(one for one in Depth if not one.is_float and one.bits == bits)


def losses(movie: Movie, clip: Clip) -> list[str]:
    """Notes for the user on what a movie can't keep of the pictures of a clip.

    Example:
        losses(MOVIES["h264"], Clip(Path("quay_04.mov")))
    """
    facts, depth = clip.facts, depth_of(movie, clip.layout)
    ours, theirs = (av.VideoFormat(layout, 16, 16) for layout in (movie.layout or clip.layout, clip.layout))
    notes = []
    if depth.bits < facts.depth.bits:
        notes.append(f"{facts.depth.bits} bit become {depth.bits}, the most that {movie.title} is written with")
    if (ours.chroma_width(), ours.chroma_height()) < (theirs.chroma_width(), theirs.chroma_height()):
        notes.append(f"the chroma of {movie.title} is coarser than that of the clip")
    if facts.channels == 4 and len(ours.components) < 4:
        notes.append(f"not kept in {movie.title}: alpha")
    if facts.timecode and movie.container == "matroska":
        notes.append("not kept in Matroska: timecode")
    if facts.codec not in (movie.encoder, movie.encoder.removesuffix("_ks")):
        notes.append(f"written as {movie.title}; the clip is {facts.codec}")
    if facts.interlaced:
        notes.append("not kept: the tag for interlaced frames")
    return notes


def write(
    path: Path, clip: Clip, movie: Movie, frames: Iterable[Pixels], matrix: str, tags: Tags, stamp: str | None
) -> list[str]:
    """Writes the movie of a clip.

    Args:
        path: the file to write.
        frames: the corrected pixels of all frames in order, (height, width, channels) in codes of `depth_of`.
        matrix: of the Y'CbCr of the movie, as `Facts.matrix`.
        tags: the encoding of the pixels.
        stamp: a line about the processing for the comment of the movie; None for none.

    Returns:
        Notes for the user on what the movie doesn't keep of the clip.

    Raises:
        OSError: the movie can't be written; PyAV's errors are among them.
        FrameError: a frame of the clip can't be decoded.

    Example:
        write(Path("quay_04.mov"), clip, movie(clip.facts, None), frames, "BT.709", clip.facts.tags, None)
    """
    facts, source = clip.facts, clip.stream
    layout = movie.layout or clip.layout
    shape = av.VideoFormat(layout, facts.width, facts.height)
    matrix = "RGB" if shape.is_rgb else matrix if matrix in _MATRIX else "BT.709"
    notes: list[str] = []
    if narrowed := tags.range == "full" and not _keeps_range(movie):
        tags = replace(tags, range="narrow")
        notes.append(f"{movie.title} is always read as narrow range: full range was converted to it")
    with (
        av.open(f"file:{path}", "w", format=movie.container, metadata_errors="surrogateescape") as out,
        opened_container(clip.path) as again,
    ):
        out.metadata.update({k: v for k, v in again.metadata.items() if k not in _OWN})
        if facts.timecode:
            out.metadata["timecode"] = facts.timecode
        chapters = again.chapters()
        if chapters and movie.container == "mxf":
            notes.append("not kept in MXF: chapters")
        elif chapters:
            out.set_chapters(chapters)
        if stamp:
            out.metadata["comment"] = "; ".join(filter(None, (again.metadata.get("comment", ""), stamp)))
        stream: Any = out.add_stream(movie.encoder, rate=facts.rate or 25, options=dict(movie.options))
        stream.width, stream.height, stream.pix_fmt = facts.width, facts.height, layout
        if rotation := clip.decoded(1).rotation:
            stream.set_display_rotation(rotation)
        context = stream.codec_context
        context.time_base = source.time_base
        context.sample_aspect_ratio = source.sample_aspect_ratio or 1
        colours = {
            "color_range": 1 if tags.range == "narrow" else 2,
            "colorspace": 0 if matrix == "RGB" else _MATRIX[matrix],
            "color_primaries": _point(PRIMARIES, tags.primaries),
            "color_trc": _point(TRANSFERS, tags.transfer),
        }
        for name, value in colours.items():
            setattr(context, name, value)
        copied = {}
        for track in (one for one in again.streams if one.index != source.index and not _written_again(one, chapters)):
            try:
                if track.type not in ("audio", *_TAKES.get(movie.container, ())):
                    raise ValueError
                copied[track.index] = _track(out, track)
            except ValueError:
                why = (
                    "since only the first is corrected" if track.type == "video" else f"which {movie.ending} can't hold"
                )
                notes.append(f"not kept: {_described(track)}, {why}")
        packets = _packets(again, copied)
        pending = next(packets, None)
        for stamp_, pixels in zip(clip.stamps, frames, strict=True):
            frame = av.VideoFrame(facts.width, facts.height, layout)
            if narrowed:
                pixels = _narrow(pixels, shape.components[0].bits)
            _fill(frame, _stored(pixels, shape, matrix, tags.range == "narrow"))
            frame.pts, frame.time_base = stamp_, source.time_base
            for name, value in colours.items():
                setattr(frame, name, value)
            out.mux(stream.encode(frame))
            while pending is not None and (pending[1].dts or 0) * pending[1].time_base <= stamp_ * source.time_base:
                _mux(out, *pending)
                pending = next(packets, None)
        out.mux(stream.encode())
        while pending is not None:
            _mux(out, *pending)
            pending = next(packets, None)
    return notes


_OWN = ("major_brand", "minor_version", "compatible_brands", "encoder", "ENCODER", "timecode", "comment")


_TAKES = {"mov": ("subtitle",), "mp4": ("subtitle",), "matroska": ("subtitle", "attachment")}
"""The types of track that a container can hold besides video and audio, if it supports the codec."""


def _described(track: Any) -> str:
    kinds = {"audio": "an audio", "video": "another video", "attachment": "an attachment"}
    codec = f" of {track.codec_context.name}" if track.codec_context else ""
    return f"{kinds.get(track.type, f'a {track.type}')} track{codec}"


def _written_again(track: Any, chapters: Sequence[Any]) -> bool:
    """Whether a track only holds timecode or chapters, which are tracks in MOV and which the muxer writes again."""
    if track.type == "data":
        return "timecode" in track.metadata or bool(chapters and track.name == "bin_data")
    listed = track.type == "subtitle" and not track.disposition and track.index_entries
    return bool(chapters and listed and len(track.index_entries) == len(chapters))


def _track(out: Any, track: Any) -> Any:
    """Adds a track for the packets of another.

    Raises:
        ValueError: the container doesn't support its codec.
    """
    made = out.add_stream_from_template(track)
    made.metadata.update(track.metadata)
    made.disposition = track.disposition
    return made


def _packets(container: Any, copied: dict[int, Any]) -> Iterator[tuple[Any, Any]]:
    if copied:
        for packet in container.demux([container.streams[index] for index in copied]):
            if packet.size and packet.dts is not None:
                yield copied[packet.stream.index], packet


def _mux(out: Any, stream: Any, packet: Any) -> None:
    packet.stream = stream
    out.mux(packet)


def _point(table: dict[int, str], name: str) -> int:
    return next((point for point, one in table.items() if one == name), 2)


def _keeps_range(movie: Movie) -> bool:
    """Whether readers respect the range tag of a movie; those of ProRes, DNxHR and v210 assume narrow range."""
    return movie.encoder in ("ffv1", "libx264")


def _narrow(pixels: Pixels, bits: int) -> Pixels:
    """Converts colour from full to narrow range; alpha is unchanged."""
    slope, offset = narrow_affine(bits)
    most = 2**bits - 1
    narrow = pixels.copy()
    colour = narrow[..., : 1 if pixels.shape[2] < 3 else 3]
    colour[...] = np.rint((colour.astype(np.float32) / most - offset) / slope * most)
    return narrow


def _stored(pixels: Pixels, shape: Any, matrix: str, narrow: bool) -> list[planes.Plane]:
    """The planes of a pixel format, in the order of its components."""
    bits = shape.components[0].bits
    colour, alpha = pixels[..., :3], pixels[..., 3:]
    if pixels.shape[2] < 3:
        colour, alpha = np.repeat(pixels[..., :1], 3, axis=2), pixels[..., 1:]
    if len(shape.components) == 1:
        return [pixels[..., 0]]
    if shape.is_rgb:
        found = [colour[..., place] for place in range(3)]
    else:
        across, down = shape.width // shape.chroma_width(), shape.height // shape.chroma_height()
        found = planes.ycbcr(colour, bits, matrix, narrow, across, down)
    if len(shape.components) == 4:
        found.append(alpha[..., 0])
    return found


def _fill(frame: Any, stored: list[planes.Plane]) -> None:
    for part, codes in zip(frame.format.components, stored, strict=True):
        plane = frame.planes[part.plane]
        rows = np.frombuffer(plane, codes.dtype).reshape(plane.height, plane.line_size // codes.itemsize)
        rows[:, : codes.shape[1]] = codes
