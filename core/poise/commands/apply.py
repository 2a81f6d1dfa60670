"""`poise apply`: the corrected frames are written to another folder, by several processes."""

import os
import sys
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import click

from poise.batch import Decision, Job, Plan, Summary, Target, plan, run
from poise.commands.arguments import AS_JSON, PATHS, SIDECARS
from poise.commands.output import Report, data, say, shown
from poise.commands.shots import Found, found
from poise.frames.codecs import FORMATS

DEPTHS = ("same", "8", "16", "half", "float")


@click.command("apply")
@PATHS
@click.option("--out", required=True, metavar="DIR", type=click.Path(path_type=Path), help="The folder to write to.")
@click.option("--depth", type=click.Choice(DEPTHS), default="same", show_default=True, help="Depth of the outputs.")
@click.option(
    "--format", type=click.Choice(("same", *FORMATS)), default="same", show_default=True, help="Their format."
)
@click.option("--workers", type=click.IntRange(1, 256), help="Processes; one for each processor when not given.")
@click.option("--all", "everything", is_flag=True, help="Take shots without a sidecar as neutral.")
@click.option("--dry-run", is_flag=True, help="Print what would be done, and do nothing.")
@SIDECARS
@AS_JSON
def command(
    paths: tuple[Path, ...],
    out: Path,
    depth: str,
    format: str,
    workers: int | None,
    everything: bool,
    dry_run: bool,
    sidecars: Path | None,
    as_json: bool,
) -> None:
    """Write the corrected frames to another folder.

    An output has its source's path relative to PATH, under DIR. Shots without a sidecar, held or skipped are passed
    over. A frame that nothing changes is copied byte for byte. Sources are never written to.

    Example: poise apply day --out balanced --depth 16
    """
    report = Report()
    target = Target(out, None if format == "same" else format, None if depth == "same" else depth)
    planned = planning(found(paths, report, sidecars=sidecars), target, everything)
    if not as_json:
        for shot in planned.passed_over:
            report.passed_over(*shot)
    for problem in planned.refused:
        report.fault(*problem)
    if planned.jobs and not dry_run:
        summary = applied(planned, workers, report)
    else:
        summary = Summary(tuple(job.file for job in planned.jobs), 0.0)
    if as_json:
        data(_result(planned, summary, report) | ({"dry_run": True} if dry_run else {}))
    elif dry_run:
        for job in planned.jobs:
            click.echo(f"{shown(job.file)} -> {shown(job.output)}")
    elif planned.jobs:
        say(f"{len(summary.done)} of {len(planned.jobs)} frames written to {shown(out)} in {summary.seconds:.1f} s")
    report.need(len(planned.jobs) + len(report.faults), "nothing to apply: every shot was passed over")
    report.end()


def planning(shots: Iterable[Found], target: Target, everything: bool = False) -> Plan:
    """The plan for shots with their sidecars.

    Raises:
        UsageError: as `poise.batch.plan`.
    """
    decided = []
    for one in shots:
        sidecar = one.sidecar
        decision = Decision(sidecar.correction, sidecar.encoding, sidecar.state, sidecar.note) if sidecar else None
        decided.append((one.shot, decision))
    return plan(decided, target, everything)


def applied(planned: Plan, workers: int | None, report: Report) -> Summary:
    """Carries a plan out, with a progress bar when stderr is a terminal, and tells every failure in a line.

    Raises:
        OutputError: the folder for outputs can't be written.
    """
    number = min(workers or os.cpu_count() or 1, len(planned.jobs))
    if not sys.stderr.isatty():
        return run(planned, number, lambda job, reason: report.fault(job.file, reason) if reason else None)
    failed: list[tuple[Path, str]] = []
    with click.progressbar(length=len(planned.jobs), label="apply", file=sys.stderr) as bar:

        def told(job: Job, reason: str | None) -> None:
            if reason:
                failed.append((job.file, reason))
            bar.update(1)

        summary = run(planned, number, told)
    for path, reason in failed:
        report.fault(path, reason)
    return summary


def _result(planned: Plan, summary: Summary, report: Report) -> dict[str, Any]:
    return {
        "out": str(planned.target.folder),
        "done": [str(file) for file in summary.done],
        "unchanged": [],
        "passed_over": [{"file": str(file), "reason": reason} for file, reason in planned.passed_over],
        "failed": [{"file": str(file), "reason": reason} for file, reason in report.faults],
        "seconds": round(summary.seconds, 3),
    }
