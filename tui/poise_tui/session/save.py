"""Saving one shot's decision: a job that any thread can run, and its outcome."""

from dataclasses import dataclass
from pathlib import Path

from poise.errors import FileError, SidecarError, why_not
from poise.frames import Shot, probe
from poise.sidecar import ShotInfo, Sidecar, save
from poise.sidecar.decision import Decision
from poise.stamp import Stamp


@dataclass(frozen=True)
class Job:
    """A decision to write.

    Attributes:
        index: of the shot in its session.
        read: the sidecar as last read or saved; None if there was none.
        size: width and height of the picture; None if it was not read yet.
    """

    index: int
    shot: Shot
    decision: Decision
    read: Sidecar | None
    size: tuple[int, int] | None


@dataclass(frozen=True)
class Outcome:
    """The result of a job: the sidecar saved at a path, or the fault; and the file's stamp afterwards."""

    index: int
    path: Path
    decision: Decision
    saved: Sidecar | None = None
    fault: SidecarError | None = None
    stamp: Stamp | None = None


def write(job: Job) -> Outcome:
    """Runs a job; a `SidecarError` becomes part of its outcome."""
    path = job.shot.sidecar_path
    try:
        sidecar = job.read or Sidecar(shot=_info(job))
        saved = save(path, job.decision.into(sidecar), job.read)
    except SidecarError as fault:
        return Outcome(job.index, path, job.decision, fault=fault, stamp=Stamp.of(path))
    return Outcome(job.index, path, job.decision, saved, stamp=Stamp.of(path))


def failed(job: Job, fault: Exception) -> Outcome:
    """The outcome of a job that raised an unexpected exception."""
    path = job.shot.sidecar_path
    return Outcome(job.index, path, job.decision, fault=SidecarError(path, f"can't be saved: {why_not(path, fault)}"))


def _info(job: Job) -> ShotInfo:
    """The size stays 0 x 0 for a picture that can't be read, since such a shot can still be held or skipped."""
    size = job.size
    if size is None:
        try:
            header = probe(job.shot.files[job.shot.nearest(job.decision.judged)])
            size = header.width, header.height
        except FileError:
            size = 0, 0
    return ShotInfo.of(job.shot, *size)
