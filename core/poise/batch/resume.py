"""Resuming: which jobs of a plan remain, and which outputs of earlier runs are up to date."""

import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from poise.batch.fingerprint import recipe, source_digest
from poise.batch.manifest import Record
from poise.batch.plan import Job, Plan
from poise.stamp import Stamp, stamp

RECIPE = "its decision, its settings or the version of poise changed"
SOURCE = "the source was replaced"
OUTPUT = "the output is missing or was changed by someone else"
"""Reasons to write an output again."""


@dataclass(frozen=True)
class Remaining:
    """The jobs of a plan, compared with a manifest.

    Attributes:
        jobs: the jobs to do, in order.
        unchanged: the jobs whose outputs are up to date.
        renewed: for jobs whose outputs are written again, the reason.
    """

    jobs: tuple[Job, ...]
    unchanged: tuple[Job, ...]
    renewed: Mapping[Path, str]


def remaining(plan: Plan, records: Mapping[str, Record], verify: bool = False) -> Remaining:
    """Compare a plan with the records of earlier runs.

    A file whose time stamps have not changed counts as unchanged. Any other file, and every file with `verify`, is read
    and compared by content.

    Args:
        records: of the plan's folder, by output; with none, every job remains.
        verify: read every source and output.

    Example:
        remaining(plan, read(folder)).jobs
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
    """The name of a job's output in the manifest: its path below the folder, with `/`."""
    return Path(os.path.relpath(job.output, folder)).as_posix()


def _stale(job: Job, record: Record, verify: bool) -> str:
    """Why an output must be written again; empty if it is up to date."""
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
        return (there.untouched(known) and not verify) or source_digest(path) == content
    except OSError:
        return False
