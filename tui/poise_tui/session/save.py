"""Saving one shot's decision: a job that any thread may do, and what came of it."""

from dataclasses import dataclass
from pathlib import Path

from poise.errors import FileError, SidecarError
from poise.frames import Shot, probe
from poise.sidecar import ShotInfo, Sidecar, save
from poise.sidecar.decision import Decision


@dataclass(frozen=True)
class Job:
    """What is to be written.

    Attributes:
        index: of the shot in its session.
        read: the sidecar as it was last read or saved; None when there was none.
        size: width and height of the picture; None when it was not read yet.
    """

    index: int
    shot: Shot
    decision: Decision
    read: Sidecar | None
    size: tuple[int, int] | None


@dataclass(frozen=True)
class Outcome:
    """How a job went: what was saved at which path, or why it could not be."""

    index: int
    path: Path
    decision: Decision
    saved: Sidecar | None = None
    fault: SidecarError | None = None


def write(job: Job) -> Outcome:
    """Does a job; every fault becomes part of its outcome."""
    path = job.shot.sidecar_path
    try:
        sidecar = job.read or Sidecar(shot=_info(job))
        saved = save(path, job.decision.into(sidecar), job.read)
    except SidecarError as fault:
        return Outcome(job.index, path, job.decision, fault=fault)
    except OSError as fault:
        reason = f"can't be saved: {fault.strerror}"
        return Outcome(job.index, path, job.decision, fault=SidecarError(path, reason))
    return Outcome(job.index, path, job.decision, saved)


def _info(job: Job) -> ShotInfo:
    """A picture that can't be read may still be held or skipped, so its size may stay unknown."""
    size = job.size
    if size is None:
        try:
            header = probe(job.shot.files[job.shot.nearest(job.decision.judged)])
            size = header.width, header.height
        except FileError:
            size = 0, 0
    return ShotInfo(job.shot.name, *size, job.shot.frame_range)
