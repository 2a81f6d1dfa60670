"""A run: a plan is carried out, each result told as it comes, and the folder of outputs is marked and kept clean."""

import json
import os
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from poise.batch.executors import processes
from poise.batch.plan import Job, Plan
from poise.batch.worker import do
from poise.errors import OutputError
from poise.frames.scan import MANIFEST
from poise.temporary import orphan


@dataclass(frozen=True)
class Summary:
    """What a run did: the files that are done, in order, and how long it took in seconds."""

    done: tuple[Path, ...]
    seconds: float


def run(plan: Plan, workers: int, told: Callable[[Job, str | None], None]) -> Summary:
    """Carries out a plan; one bad frame never stops the rest.

    Args:
        workers: processes, 1 or more.
        told: called with each job as it ends, and None or why it failed.

    Raises:
        OutputError: the folder for outputs can't be made or written.
        KeyboardInterrupt: after what had begun is finished; no partial output is left.

    Example:
        run(plan, 2, lambda job, reason: None).done
    """
    begun = time.monotonic()
    folder = plan.target.folder
    done: list[Path] = []
    try:
        folder.mkdir(parents=True, exist_ok=True)
        manifest = (folder / MANIFEST).open("a", encoding="utf-8")
    except OSError as fault:
        raise OutputError(
            folder, f"no outputs can be written here: {(fault.strerror or str(fault)).lower()}"
        ) from fault
    _sweep(plan)
    with manifest:
        for job, reason in processes(do, plan.jobs, workers):
            if reason is None:
                done.append(job.file)
                line = {"output": os.path.relpath(job.output, folder), "source": str(job.file)}
                manifest.write(json.dumps(line) + "\n")
            told(job, reason)
    order = {job.file: place for place, job in enumerate(plan.jobs)}
    done.sort(key=lambda file: order[file])
    return Summary(tuple(done), time.monotonic() - begun)


def _sweep(plan: Plan) -> None:
    """Removes what killed runs left half written in the folders of outputs."""
    for folder in {job.output.parent for job in plan.jobs}:
        with suppress(OSError):
            for name in os.listdir(folder):
                if orphan(name):
                    os.unlink(folder / name)
