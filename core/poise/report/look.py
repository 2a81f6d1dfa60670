"""A look at one shot: its frame read once, before and after its correction; it runs in a process of its own."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from poise.batch.fingerprint import digest
from poise.chain import order
from poise.correction.model import CODED, NEUTRAL, Correction, Encoding, default_encoding
from poise.delivery.examined import Examined, examine
from poise.delivery.limits import Limits
from poise.delivery.worker import Look as Examining
from poise.delivery.worker import look as examined_or_why
from poise.engine import Engine, compile_engine
from poise.errors import FileError, PoiseError, one_line
from poise.frames import read
from poise.frames.frame import Frame, Pixels
from poise.report.pictures import Picture, parade_picture, small, thumbnail, waveform_picture
from poise.scopes import Readings, measure, measure_parts, split
from poise.scopes.signal import strips
from poise.scopes.waveform import Counts, traces
from poise.stamp import stamp

ROWS = 165
"""Of a trace: three for two per cent of signal."""
COLUMNS, EACH = 224, 112
"""Of a waveform, and of each of a parade's three."""


@dataclass(frozen=True)
class Job:
    """One shot to look at.

    Attributes:
        file: the still, or the frame that a sequence is judged on.
        files, numbers: all frames; numbers is empty for a still.
        encoding: None for the default of the file.
        every: also look at every so many frames; 0 for none.
    """

    place: int
    file: Path
    files: tuple[Path, ...]
    limits: Limits
    numbers: tuple[int, ...] = ()
    correction: Correction = NEUTRAL
    encoding: Encoding | None = None
    every: int = 0


@dataclass(frozen=True)
class Side:
    """A shot on one side of its correction: measured at full resolution, in work code."""

    readings: Readings
    picture: Picture
    waveform: Picture
    parade: Picture


@dataclass(frozen=True)
class Seen:
    """What a look at a shot brought.

    Attributes:
        width, height, channels, depth: of the frame.
        after: None where the correction changes nothing.
        frames: what limits are about, as it would be delivered, by the place among the shot's files: of the judged
            frame, and of all others that were looked at.
        hashes: of the content of each of the shot's files.
        unread: why frames could not be looked at, by their places.
    """

    width: int
    height: int
    channels: int
    depth: str
    encoding: Encoding
    before: Side
    after: Side | None
    frames: dict[int, Examined]
    hashes: tuple[str, ...]
    unread: dict[int, str]

    @property
    def shown(self) -> Side:
        """How the shot would be delivered."""
        return self.after or self.before

    @property
    def size(self) -> int:
        """Bytes of its pictures."""
        sides = [self.before, *([self.after] if self.after else [])]
        return sum(len(one.data) for side in sides for one in (side.picture, side.waveform, side.parade))


def look(job: Job) -> Seen | str:
    """Looks at one shot.

    Returns:
        What was seen, or in one line why it can't be.

    Example:
        look(Job(0, Path("quay_02.tif"), (Path("quay_02.tif"),), load())).before.readings.luma.white
    """
    try:
        return _seen(job)
    except FileError as fault:
        return fault.reason if fault.path == job.file else str(fault)
    except PoiseError as fault:
        return str(fault)
    except OSError as fault:
        return f"can't be read: {fault.strerror}"
    except MemoryError:
        return "there is not enough memory for this picture; use fewer --workers"
    except Exception as fault:  # whatever it is, it must cost this shot only
        return one_line(f"an unforeseen fault ({type(fault).__name__}: {fault})")


def _seen(job: Job) -> Seen:
    as_it_was = stamp(job.file)
    hashes = tuple(map(digest, job.files))
    frame = read(job.file)
    if stamp(job.file) != as_it_was:
        raise FileError(job.file, "it was changed while it was read; report again when it is complete")
    encoding = job.encoding or default_encoding(frame.linear)
    shape = frame.width, frame.height, frame.channels, frame.depth.value
    judged = job.files.index(job.file)
    try:
        examined = examine(frame, job.correction, job.encoding, job.limits)
    except PoiseError as fault:  # the picture is good, but takes no such correction
        plain = side(frame, NEUTRAL, default_encoding(frame.linear))
        return Seen(*shape, encoding, plain, None, {}, hashes, {judged: str(fault)})
    read_off = examined.readings if examined.encoding == encoding else None  # the same, so not read off twice
    neutral = order.is_neutral(job.correction, CODED)
    before = side(frame, NEUTRAL, encoding, read_off if neutral else None)
    after = None if neutral else side(frame, job.correction, encoding, read_off)
    frames, unread = _others(job)
    frames[judged] = examined
    return Seen(*shape, encoding, before, after, dict(sorted(frames.items())), hashes, unread)


def side(frame: Frame, correction: Correction, encoding: Encoding, readings: Readings | None = None) -> Side:
    """A frame under a correction.

    Args:
        readings: if they are known.

    Raises:
        PoiseError: the correction or the encoding can't be applied to this picture.
    """
    engine = compile_engine(correction, encoding, frame.depth, output="work")
    primaries, maximum = encoding.work_primaries, frame.depth.maximum
    counted = Traces(frame.width, None if engine.out_depth.is_float else maximum, primaries)
    parts = counted.through(_parts(engine, frame.colour))
    if readings is not None:
        for _ in parts:
            pass
    elif engine.out_depth.is_float:
        readings = measure(next(parts), maximum, primaries)
    else:
        readings = measure_parts(parts, maximum, primaries)
    levels = engine.apply(small(frame.colour)).astype(np.float32)
    picture = thumbnail(levels if engine.out_depth.is_float else levels / np.float32(maximum))
    return Side(readings, picture, waveform_picture(counted.luma), parade_picture(counted.colours))


class Traces:
    """Waveform and parade, counted while the parts of a picture go by.

    Attributes:
        luma: (ROWS, COLUMNS); a picture that has fewer columns gives no more.
        colours: (3, ROWS, EACH), likewise.
    """

    def __init__(self, width: int, maximum: int | None, primaries: str) -> None:
        self.luma: Counts = np.zeros((ROWS, min(COLUMNS, width)), np.int64)
        self.colours: Counts = np.zeros((3, ROWS, min(EACH, width)), np.int64)
        self._maximum, self._primaries = maximum, primaries

    def through(self, parts: Iterator[Pixels]) -> Iterator[Pixels]:
        """The parts, each of whole rows, as they are."""
        for part in parts:
            for strip in strips(part):
                signal = split(strip, self._maximum, self._primaries)
                self.luma += traces(signal, signal.levels[:1], self.luma.shape[1], ROWS)[0]
                self.colours += traces(signal, signal.levels[1:], self.colours.shape[2], ROWS)
            yield part


def _parts(engine: Engine, colour: Pixels) -> Iterator[Pixels]:
    """The picture in work code: in strips where a pixel depends on itself alone, and percentiles come from counts."""
    if engine.out_depth.is_float:
        yield engine.apply(colour)
    elif engine.keyed is not None:
        yield from strips(engine.apply(colour))
    else:
        yield from map(engine.apply, strips(colour))


def _others(job: Job) -> tuple[dict[int, Examined], dict[int, str]]:
    """What was found about the other frames of a sequence, and why some can't be looked at, by their places."""
    frames, unread = {}, {}
    for place in range(0, len(job.files), job.every) if job.every and job.numbers else ():
        if job.files[place] != job.file:
            found = examined_or_why(Examining(0, place, job.files[place], job.correction, job.encoding, job.limits))
            if isinstance(found, str):
                unread[place] = found
            else:
                frames[place] = found
    return frames, unread
