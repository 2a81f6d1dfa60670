"""A look at one shot: its frame read once, before and after its correction; it runs in a process of its own."""

from dataclasses import dataclass
from pathlib import Path

from poise.batch.fingerprint import digest
from poise.chain import order
from poise.correction.model import CODED, NEUTRAL, Correction, Encoding, default_encoding
from poise.delivery.examine import ExaminedFrame, examine
from poise.delivery.limits import Limits
from poise.delivery.worker import FrameJob as Examining
from poise.delivery.worker import examine_job as examined_or_why
from poise.errors import FileError, PoiseError, why_not
from poise.frames import read
from poise.report.side import Side, side
from poise.stamp import stamp


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
class ExaminedShot:
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
    frames: dict[int, ExaminedFrame]
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


def examine_shot(job: Job) -> ExaminedShot | str:
    """Looks at one shot.

    Returns:
        What was seen, or in one line why it can't be.

    Example:
        look(Job(0, Path("quay_02.tif"), (Path("quay_02.tif"),), load())).before.readings.luma.white
    """
    try:
        return _seen(job)
    except OSError as fault:
        return f"can't be read: {fault.strerror}"
    except Exception as fault:
        return why_not(job.file, fault)


def _seen(job: Job) -> ExaminedShot:
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
        return ExaminedShot(*shape, encoding, plain, None, {}, hashes, {judged: str(fault)})
    read_off = examined.readings if examined.encoding == encoding else None  # the same, so not read off twice
    neutral = order.is_neutral(job.correction, CODED)
    before = side(frame, NEUTRAL, encoding, read_off if neutral else None)
    after = None if neutral else side(frame, job.correction, encoding, read_off)
    frames, unread = _others(job)
    frames[judged] = examined
    return ExaminedShot(*shape, encoding, before, after, dict(sorted(frames.items())), hashes, unread)


def _others(job: Job) -> tuple[dict[int, ExaminedFrame], dict[int, str]]:
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
