"""One frame of a check: reads, corrects and measures it, in a process of its own."""

from dataclasses import dataclass
from pathlib import Path

from poise.correction.model import Correction, Encoding, Range
from poise.delivery.examine import ExaminedFrame, examine
from poise.delivery.known_range import known_range
from poise.delivery.limits import Limits
from poise.errors import why_not
from poise.frames import read


@dataclass(frozen=True)
class FrameJob:
    """One frame to examine, with everything that a worker needs to know.

    Attributes:
        shot: the index of its shot.
        place: the index of the frame among the files of the shot.
        encoding: None if its sidecar names none.
        range: of a file that nothing else tells it of.
    """

    shot: int
    place: int
    file: Path
    correction: Correction
    encoding: Encoding | None
    limits: Limits
    range: Range | None = None


def examine_job(job: FrameJob) -> ExaminedFrame | str:
    """Examine one frame.

    Returns:
        The measurement, or the reason for a failure in one line.

    Example:
        examine_job(FrameJob(0, 0, Path("quay_02.tif"), NEUTRAL, None, load("baseline")))
    """
    try:
        frame = read(job.file)
        range = (known_range(job.file) or job.range) if job.encoding is None else None
        return examine(frame, job.correction, job.encoding, job.limits, range)
    except Exception as fault:
        return why_not(job.file, fault)
