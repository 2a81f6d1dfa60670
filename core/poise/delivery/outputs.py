"""Faults of outputs: missing, stale or damaged, by the rules of the batch."""

import os
from collections.abc import Iterable, Mapping
from dataclasses import replace
from itertools import product
from pathlib import Path

from poise.batch.fingerprint import recipe
from poise.batch.manifest import Record, read
from poise.batch.plan import Job, Plan, Target, plan
from poise.batch.resume import OUTPUT, name_of, remaining
from poise.delivery.fault import Fault
from poise.frames.codecs import FORMATS
from poise.frames.codecs.clip.movies import MOVIES
from poise.frames.scan import MANIFEST
from poise.frames.shots import Shot
from poise.sidecar.decision import Decision

DEPTHS = (None, "8", "16", "half", "float")


def folders_below(paths: Iterable[Path]) -> list[Path]:
    """The folders of outputs directly below the given folders.

    Example:
        folders_below([Path("day")])  # [Path("day/balanced")]
    """
    found = []
    for path in paths:
        if os.path.isdir(path):
            with os.scandir(path) as entries:
                names = sorted(entry.name for entry in entries if entry.is_dir(follow_symlinks=False))
            found += [path / name for name in names if os.path.isfile(path / name / MANIFEST)]
    return found


def faults(shots: Iterable[tuple[Shot, Decision | None]], folder: Path, verify: bool = False) -> list[Fault]:
    """The faults of the outputs of shots; frames of a sequence with the same fault share one.

    Outputs of shots without a sidecar are expected only if the manifest has them; shots held or skipped have none.

    Args:
        shots: each with its decision; None for a shot without a sidecar.
        folder: the folder of the outputs.
        verify: read every source and output, rather than trust their time stamps.

    Raises:
        OutputError: the manifest can't be read.
        UsageError: the folder is that of the sources.
    """
    known, records = list(shots), read(folder)
    planned = _as_made(known, folder, records)
    decided = {file for shot, decision in known if decision is not None for file in _sources(shot)}
    jobs = tuple(job for job in planned.jobs if job.file in decided or name_of(job, folder) in records)
    needed = remaining(replace(planned, jobs=jobs), records, verify)
    again = {job.file: job for job in needed.jobs}
    found = []
    for shot, _ in known:
        reasons: dict[tuple[str, str], list[Job]] = {}
        for file in _sources(shot):
            if file in again:
                reasons.setdefault(_why(again[file], needed.renewed.get(file, "")), []).append(again[file])
        found += [_fault(shot, name, words, at) for (name, words), at in reasons.items()]
    return found


def _sources(shot: Shot) -> tuple[Path, ...]:
    """The files of a shot that have outputs: its frames, and a clip as a whole."""
    return (*shot.files, shot.clip) if shot.clip else shot.files


def _why(job: Job, renewed: str) -> tuple[str, str]:
    """The name of the fault of one output, and the reason as text."""
    if not os.path.lexists(job.output):
        return "missing", "there is no output; poise apply writes it"
    if not renewed:
        return "stale", "the file in its place is not in the manifest; poise apply replaces it"
    if renewed == OUTPUT:
        return "damaged", "its output has changed since it was written; poise apply replaces it"
    return "stale", f"{renewed} since the output was written; poise apply replaces it"


def _fault(shot: Shot, name: str, why: str, jobs: list[Job]) -> Fault:
    words, many = why, len(jobs)
    if shot.numbers and jobs[0].format != "clip":
        words = f"{many} of {len(shot.files)} frames, from {jobs[0].file.name} on: {why}"
    file = shot.first.parent / shot.name
    return Fault(str(file), name, float(many), 0.0, "frames", "the manifest of the outputs", words)


def _as_made(shots: list[tuple[Shot, Decision | None]], folder: Path, records: Mapping[str, Record]) -> Plan:
    """The plan of all outputs, with the format, depth and stamp that the records imply."""
    endings = {Path(name).suffix.lower() for name in records}
    formats = [None, *(name for name, kind in FORMATS.items() if not kind.written_as and endings & {*kind.extensions})]
    targets = [*(Target(folder, name) for name in formats), *(Target(folder, movie=name) for name in MOVIES)]
    plans = [plan(shots, target, everything=True) for target in targets]
    best = max(plans, key=lambda one: sum(name_of(job, folder) in records for job in one.jobs))
    last: tuple[str | None, bool] = (None, True)
    jobs = []
    for job in best.jobs:
        record = records.get(name_of(job, folder))
        for depth, stamp in (last, *product(DEPTHS, (True, False))) if record else ():
            made = replace(job, depth=depth, stamp=stamp)
            if record is not None and recipe(made) == record.recipe:
                job, last = made, (depth, stamp)
                break
        jobs.append(job)
    return replace(best, jobs=tuple(jobs))
