"""Processes one frame of a batch: reads, corrects and writes it, in a process of its own."""

import dataclasses
import shutil
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from poise.atomic import atomic_replace
from poise.batch.fingerprint import digest, mark, source_digest
from poise.batch.plan import Job, is_copied
from poise.correction import Correction, Encoding, default_encoding
from poise.errors import FileError, OutputError, why_not
from poise.frames import read, write
from poise.stamp import Stamp, stamp

if TYPE_CHECKING:
    from poise.engine import Engine
    from poise.frames import Depth, Frame
    from poise.frames.frame import Pixels


@dataclass(frozen=True)
class FrameResult:
    """The output of one frame as written, and its source as read.

    Attributes:
        pixels: number of pixels of the picture.
        notes: what the output could not keep of its source.
    """

    source_stamp: Stamp
    source_hash: str
    output_stamp: Stamp
    output_hash: str
    pixels: int
    notes: tuple[str, ...] = ()


def process_frame(job: Job, threads: int = 1) -> FrameResult | str:
    """Process one frame.

    A frame that the correction does not change is copied byte for byte, after it was read to make sure it is intact.

    Args:
        threads: the number of threads of the engine; the output doesn't depend on it.

    Returns:
        The result, or the reason for a failure in one line.

    Example:
        process_frame(Job(Path("quay_02.tif"), Path("out/quay_02.tif"), NEUTRAL, None, "tiff", None))
    """
    try:
        return _processed(job, threads)
    except Exception as fault:
        return why_not(job.file, fault)


def _processed(job: Job, threads: int, again: bool = False) -> FrameResult:
    before = _stamp(job.file)
    pixels, notes = _write_output(job, threads)
    try:
        content, after = source_digest(job.file), stamp(job.file)
    except OSError as fault:
        job.output.unlink(missing_ok=True)
        raise FileError(job.file, f"it can no longer be read: {f'{fault.strerror}'.lower()}") from fault
    if after == before and not after.untouched(before) and not again:
        return _processed(job, threads, again=True)  # its mode changed, or its modification time was set back
    if not after.untouched(before):
        job.output.unlink(missing_ok=True)
        raise FileError(job.file, "it changed while it was read; apply again when it is complete")
    return FrameResult(before, content, _stamp(job.output), digest(job.output), pixels, notes)


def _stamp(path: Path) -> Stamp:
    try:
        return stamp(path)
    except OSError as fault:
        raise FileError(path, f"{fault.strerror}".lower()) from fault


def _write_output(job: Job, threads: int) -> tuple[int, tuple[str, ...]]:
    """Write one output; returns its number of pixels, and what it could not keep of its source."""
    from poise.chain import order
    from poise.frames import Depth
    from poise.frames.codecs import FORMATS, by_extension

    if job.format == "clip":
        return _write_clip(job, threads)
    frame = read(job.file)
    source = by_extension(job.file)
    depth = Depth(job.depth) if job.depth else frame.depth
    linear = job.format == "exr" or (job.format == "tiff" and depth.is_float)
    encoding = job.encoding or encoding_between(frame.linear, linear)
    same = source is not None and source.name == job.format and depth is frame.depth
    _make_folder(job.output.parent)
    if same and order.is_neutral(job.correction, encoding):
        copy_whole(job.file, job.output)
        return frame.width * frame.height, ()
    premultiplied = FORMATS[job.format].premultiplied
    if premultiplied is None:  # as in the source
        premultiplied = frame.premultiplied and source is not None and source.name == job.format

    def output_frame(frame: "Frame") -> "Frame":
        out = Depth(job.depth) if job.depth else frame.depth
        return dataclasses.replace(
            frame,
            pixels=_corrected(frame, job.correction, encoding, out, premultiplied and frame.alpha, threads),
            depth=out,
            linear=linear,
            premultiplied=premultiplied and frame.alpha,
            icc=None if encoding.converts else frame.icc,  # a profile describes the source's encoding
            recoded=encoding.converts,
            views=tuple(map(output_frame, frame.views)) if source is not None and source.name == job.format else (),
        )

    result = output_frame(frame)
    notes = write(job.output, result, job.format, mark(job))
    if frame.icc and encoding.converts:
        notes += ("not kept: ICC profile, as it describes an encoding that the output does not have",)
    return frame.width * frame.height, notes


def _write_clip(job: Job, threads: int) -> tuple[int, tuple[str, ...]]:
    """As `_write_output`, for a clip that is written as a movie."""
    from poise.batch.movie import write_movie

    encoding = job.encoding or Encoding()
    _make_folder(job.output.parent)
    if is_copied(job.file, job.movie, job.by_frame or (job.correction,), job.encoding):
        frame = read(job.file)
        copy_whole(job.file, job.output)
        return job.frames * frame.width * frame.height, ()

    def corrected(frame: "Frame", depth: "Depth", place: int) -> "Pixels":
        correction = job.by_frame[place] if job.by_frame else job.correction
        return _corrected(frame, correction, encoding, depth, False, threads)

    return write_movie(job, corrected)


def _make_folder(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        raise OutputError(folder, f"the folder can't be created: {fault.strerror}") from fault


def encoding_between(source_linear: bool, output_linear: bool) -> Encoding:
    """The encoding of a frame whose sidecar names none: source and output in the conventional code of their formats.

    Args:
        source_linear, output_linear: whether the format holds linear light by convention.

    Example:
        >>> encoding_between(True, False).delivery
        'sRGB'
    """
    source, delivery = default_encoding(source_linear).source, default_encoding(output_linear).delivery
    return Encoding(source=source, delivery=delivery)


def copy_whole(source: Path, output: Path) -> None:
    """Copy a file byte for byte, atomically.

    Raises:
        FileError: the source can't be opened.
        OutputError: the output can't be written; no partial file is left.
    """
    try:
        with atomic_replace(output) as temporary:
            shutil.copyfile(source, temporary)
    except OSError as fault:
        if fault.filename == str(source):
            raise FileError(source, f"it can no longer be read: {f'{fault.strerror}'.lower()}") from fault
        raise OutputError(output, f"can't be written: {fault.strerror}") from fault


def _corrected(
    frame: "Frame", correction: Correction, encoding: Encoding, depth: "Depth", premultiplied: bool, threads: int
) -> "Pixels":
    from poise.engine.premultiplied import corrected

    def compiled(wanted: Correction, within: "Depth", out: "Depth") -> "Engine":
        return _engine(wanted, encoding, within, out)

    return corrected(frame, correction, depth, premultiplied, compiled, threads)


@lru_cache(maxsize=4)
def _engine(correction: Correction, encoding: Encoding, depth: "Depth", out: "Depth") -> "Engine":
    from poise.engine import compile_engine

    return compile_engine(correction, encoding, depth, out)
