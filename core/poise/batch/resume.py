"""Resuming: which jobs of a plan have to be done, and which were done by an earlier run and still stand."""

import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from poise.batch.fingerprint import digest, recipe
from poise.batch.manifest import Record
from poise.batch.plan import Job, Plan
from poise.stamp import Stamp, stamp

RECIPE = "its decision, its settings or the version of poise changed"
SOURCE = "the source was replaced"
OUTPUT = "the output is gone or was changed by someone else"
"""Why an output has to be made again."""


@dataclass(frozen=True)
class Remaining:
    """What a plan comes to in the light of a manifest.

    Attributes:
        jobs: those to do, in order.
        unchanged: those whose output stands as it would be made again.
        renewed: why some jobs are done although they were done before.
    """

    jobs: tuple[Job, ...]
    unchanged: tuple[Job, ...]
    renewed: Mapping[Path, str]


def remaining(plan: Plan, records: Mapping[str, Record], verify: bool = False) -> Remaining:
    """Compares a plan with what is recorded.

    A file that the file system says nobody touched is taken as it is; one that was touched is read, and so are all to
    verify: what counts then is the content.

    Args:
        records: of the plan's folder; none does everything.
        verify: read every source and output.

    Example:
        work(plan, read(folder)).jobs
    """
    jobs: list[Job] = []
    unchanged: list[Job] = []
    renewed: dict[Path, str] = {}
    for job in plan.jobs:
        record = records.get(name_of(job, plan.target.folder))
        reason = _stale(job, record, verify) if record else ""
        if record is None or reason:
            jobs.append(job)
            if reason:
                renewed[job.file] = reason
        else:
            unchanged.append(job)
    return Remaining(tuple(jobs), tuple(unchanged), renewed)


def name_of(job: Job, folder: Path) -> str:
    """What the manifest calls a job's output."""
    return Path(os.path.relpath(job.output, folder)).as_posix()


def _stale(job: Job, record: Record, verify: bool) -> str:
    """Why an output has to be made again; empty where it stands."""
    if record.recipe != recipe(job):
        return RECIPE
    if not _same(job.file, record.source_stamp, record.source_hash, verify):
        return SOURCE
    if not _same(job.output, record.output_stamp, record.output_hash, verify):
        return OUTPUT
    return ""


def _same(path: Path, known: Stamp, content: str, verify: bool) -> bool:
    try:
        there = stamp(path)
        if there.size != known.size:
            return False
        return (there.untouched(known) and not verify) or digest(path) == content
    except OSError:
        return False
