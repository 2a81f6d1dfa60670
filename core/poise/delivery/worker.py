"""One frame of a check: read, corrected in memory, and read off; it runs in a process of its own."""

from dataclasses import dataclass
from pathlib import Path

from poise.correction.model import Correction, Encoding
from poise.delivery.examine import ExaminedFrame, examine
from poise.delivery.limits import Limits
from poise.errors import why_not
from poise.frames import read


@dataclass(frozen=True)
class FrameJob:
    """One frame to look at: all that a worker needs to know.

    Attributes:
        shot: the place of its shot among those that are checked.
        place: its place among the files of the shot.
        encoding: None where its sidecar names none.
    """

    shot: int
    place: int
    file: Path
    correction: Correction
    encoding: Encoding | None
    limits: Limits


def examine_job(at: FrameJob) -> ExaminedFrame | str:
    """Examines one frame.

    Returns:
        What was found, or in one line why nothing was.

    Example:
        look(Look(0, 0, Path("quay_02.tif"), NEUTRAL, None, load("baseline")))
    """
    try:
        return examine(read(at.file), at.correction, at.encoding, at.limits)
    except Exception as fault:
        return why_not(at.file, fault)
