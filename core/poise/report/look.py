"""Examines one shot, before and after its correction; its judged frame is read once. Runs in a process of its own."""

from dataclasses import dataclass
from pathlib import Path

from poise.batch.fingerprint import source_digest
from poise.chain import order
from poise.correction.model import CODED, NEUTRAL, Correction, Encoding, default_encoding
from poise.delivery.examine import ExaminedFrame, examine
from poise.delivery.known_range import known_range
from poise.delivery.limits import Limits
from poise.delivery.worker import FrameJob, examine_job
from poise.errors import FileError, PoiseError, why_not
from poise.frames import read
from poise.report.pictures import USUAL, Size
from poise.report.side import Side, side
from poise.sidecar import UNDECIDED, Decision
from poise.stamp import stamp


@dataclass(frozen=True)
class Job:
    """One shot to examine.

    Attributes:
        place: the index of the shot among the subjects.
        file: the still, or the judged frame of a sequence.
        files, numbers: all frames; numbers is empty for a still.
        encoding: None for the default of the file.
        every: also examine every Nth frame; 0 for none.
        size: of the pictures.
    """

    place: int
    file: Path
    files: tuple[Path, ...]
    limits: Limits
    numbers: tuple[int, ...] = ()
    decision: Decision = UNDECIDED
    encoding: Encoding | None = None
    every: int = 0
    size: Size = USUAL

    def correction(self, place: int) -> Correction:
        """The correction of the frame at an index."""
        return self.decision.at(self.numbers[place] if self.numbers else None)


@dataclass(frozen=True)
class ExaminedShot:
    """The result of examining a shot.

    Attributes:
        width, height, channels, depth: of the judged frame.
        after: None if the correction changes nothing.
        frames: measurements of the frames as they would be delivered, by index among the shot's files.
        hashes: of the content of each of the shot's files.
        unread: the reasons why frames could not be examined, by index.
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
        """The shot as it would be delivered."""
        return self.after or self.before

    @property
    def size(self) -> int:
        """The size of its pictures in bytes."""
        sides = [self.before, *([self.after] if self.after else [])]
        return sum(len(one.data) for side in sides for one in (side.picture, side.waveform, side.parade))


def examine_shot(job: Job) -> ExaminedShot | str:
    """Examine one shot.

    Returns:
        The result, or the reason for a failure in one line.

    Example:
        examine_shot(Job(0, Path("quay_02.tif"), (Path("quay_02.tif"),), load())).before.readings.luma.white
    """
    try:
        return _examined(job)
    except OSError as fault:
        return f"can't be read: {fault.strerror}"
    except Exception as fault:
        return why_not(job.file, fault)


def _examined(job: Job) -> ExaminedShot:
    before_reading = stamp(job.file)
    hashes = tuple(map(source_digest, job.files))
    frame = read(job.file)
    if stamp(job.file) != before_reading:
        raise FileError(job.file, "it changed while it was read; report again when it is complete")
    encoding = job.encoding or default_encoding(frame.linear, frame.tags)
    shape = frame.width, frame.height, frame.channels, frame.depth.value
    judged = job.files.index(job.file)
    correction = job.correction(judged)
    try:
        known = known_range(job.file) if job.encoding is None else None
        examined = examine(frame, correction, job.encoding, job.limits, known)
    except PoiseError as fault:  # the picture is readable, but can't take this correction
        plain = side(frame, NEUTRAL, default_encoding(frame.linear, frame.tags), size=job.size)
        return ExaminedShot(*shape, encoding, plain, None, {}, hashes, {judged: str(fault)})
    readings = examined.readings if examined.encoding == encoding else None  # the same, so not measured twice
    neutral = order.is_neutral(correction, CODED)
    before = side(frame, NEUTRAL, encoding, readings if neutral else None, job.size)
    after = None if neutral else side(frame, correction, encoding, readings, job.size)
    frames, unread = _others(job)
    frames[judged] = examined
    return ExaminedShot(*shape, encoding, before, after, dict(sorted(frames.items())), hashes, unread)


def _others(job: Job) -> tuple[dict[int, ExaminedFrame], dict[int, str]]:
    """The measurements of the other frames of a sequence, and why some failed, by index."""
    frames, unread = {}, {}
    for place in range(0, len(job.files), job.every) if job.every and job.numbers else ():
        if job.files[place] != job.file:
            found = examine_job(FrameJob(0, place, job.files[place], job.correction(place), job.encoding, job.limits))
            if isinstance(found, str):
                unread[place] = found
            else:
                frames[place] = found
    return frames, unread
