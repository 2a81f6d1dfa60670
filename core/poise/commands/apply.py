"""`poise apply`: writes the corrected frames to another folder, with several processes or machines."""

import os
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import click

from poise.batch.plan import Plan, Target, plan
from poise.batch.run import Executor, Summary, here, outstanding, run
from poise.commands.shared.closing import closing, frames
from poise.commands.shared.notes import Notes
from poise.commands.shared.options import (
    AS_JSON,
    EVERYTHING,
    OUT,
    PATHS,
    SIDECARS,
    TIME_LIMIT,
    VERIFY,
    VERSION,
    WORKERS,
)
from poise.commands.shared.output import Report, data, say, shown
from poise.commands.shared.progress import STYLES, Style, progress
from poise.commands.shared.shots import Found, found
from poise.errors import UsageError
from poise.frames.codecs import WRITTEN
from poise.frames.codecs.clip.movies import MOVIES

DEPTHS = ("same", "8", "16", "half", "float")


@click.command("apply")
@PATHS
@OUT
@click.option("--depth", type=click.Choice(DEPTHS), default="same", show_default=True, help="Bit depth of the outputs.")
@click.option(
    "--format",
    type=click.Choice(("same", *WRITTEN)),
    default="same",
    show_default=True,
    help="File format of the outputs.",
)
@click.option("--movie", type=click.Choice(tuple(MOVIES)), help="Codec of movies, in place of their own.")
@click.option("--no-stamp", is_flag=True, help="Don't note in the outputs what was applied to them.")
@VERSION
@WORKERS
@EVERYTHING
@click.option("--fresh", is_flag=True, help="Write every output again, whatever an earlier run wrote.")
@VERIFY
@TIME_LIMIT
@click.option("--cluster", metavar="ADDRESS", help="Process frames on the workers of a dask scheduler, or local:N.")
@click.option(
    "--progress", "style", type=click.Choice(STYLES), default="auto", help="How to report progress on stderr."
)
@click.option("--dry-run", is_flag=True, help="Print what would be written, and write nothing.")
@SIDECARS
@AS_JSON
def command(
    paths: tuple[Path, ...],
    out: Path,
    depth: str,
    format: str,
    movie: str | None,
    no_stamp: bool,
    version: str,
    workers: int | None,
    everything: bool,
    fresh: bool,
    verify: bool,
    time_limit: float,
    cluster: str | None,
    style: Style,
    dry_run: bool,
    sidecars: Path | None,
    as_json: bool,
) -> None:
    """Write the corrected frames to another folder.

    Each output has its source's path relative to PATH, under DIR. Shots that are held, skipped or have no sidecar are
    passed over; with --version, so are those without that version. A frame with a neutral correction is copied byte for
    byte. A movie becomes a movie of the same codec if that is ProRes, DNxHR, FFV1 or v210, else ProRes 422 HQ; or that
    of --movie; or numbered pictures of the --format. Sources are never changed. An output
    notes what was applied to it if its format allows that, unless --no-stamp. Whatever an output can't keep of its
    source is reported.

    A manifest in DIR records which output was made from which source. Run the same command again, after a change of
    decisions, a failure or an interruption, and it writes only outputs that are missing, outdated or damaged.

    Example: poise apply day --out balanced --depth 16
    """
    report = Report()
    if movie and format != "same":
        raise UsageError(f"--movie writes movies and --format {format} pictures; use one of them")
    target = Target(out, None if format == "same" else format, None if depth == "same" else depth, not no_stamp, movie)
    planned = planning(found(paths, report, sidecars=sidecars), target, everything, version)
    if not as_json:
        for shot in planned.passed_over:
            report.passed_over(*shot)
    for problem in planned.refused:
        report.fault(*problem)
    if dry_run:
        summary = _dry_run(planned, fresh, verify, as_json)
    elif planned.jobs:
        number = min(workers or os.cpu_count() or 1, len(planned.jobs))
        execute = _on_cluster(cluster, planned, time_limit) if cluster else here(number, time_limit)
        summary = applied(planned, execute, report, style, fresh, verify)
    else:
        summary = Summary()
    if as_json:
        data(_result(planned, summary, report) | ({"dry_run": True} if dry_run else {}))
    elif planned.jobs and not dry_run:
        what = "file" if any(job.frames > 1 for job in planned.jobs) else "frame"
        for line in closing(str(out), len(planned.jobs), summary, len(report.faults), what):
            say(line)
    if summary.interrupted:
        raise KeyboardInterrupt
    report.need(len(planned.jobs) + len(report.faults), "nothing to apply: every shot was passed over")
    report.end()


def _on_cluster(address: str, planned: Plan, limit: float) -> Executor:
    from poise.batch.cluster import cluster  # an extra, and heavy

    return cluster(address, planned, limit)


def planning(shots: Iterable[Found], target: Target, everything: bool = False, version: str = "") -> Plan:
    """The plan for shots and their sidecars.

    Raises:
        UsageError: as `poise.batch.plan`.
    """
    return plan([(one.shot, one.decision) for one in shots], target, everything, version)


def applied(
    planned: Plan, execute: Executor, report: Report, style: Style = "auto", fresh: bool = False, verify: bool = False
) -> Summary:
    """Carry out a plan, and report each failure on a line of its own.

    Raises:
        OutputError: the folder for outputs can't be written, or another run is writing into it.
    """
    reporter, notes = progress(style, report), Notes()
    try:
        summary = run(planned, execute, notes.collecting(reporter.update), reporter.start, fresh=fresh, verify=verify)
    finally:
        reporter.finish()
        if style != "json":  # there the event of each frame has its notes
            notes.report_to(report)
    for file, reason in summary.renewed:
        report.note(file, f"written again: {reason}")
    if summary.unrecorded:
        say(f"poise: {summary.unrecorded}; the next run writes the unrecorded outputs again")
    return summary


def _dry_run(planned: Plan, fresh: bool, verify: bool, as_json: bool) -> Summary:
    """Print what a run would write."""
    needed = outstanding(planned, fresh, verify)
    if not as_json:
        for job in needed.jobs:
            why = f"  ({needed.renewed[job.file]})" if job.file in needed.renewed else ""
            click.echo(f"{shown(job.file)} -> {shown(job.output)}{why}")
        if needed.unchanged:
            say(f"{frames(len(needed.unchanged))} unchanged")
    return Summary(tuple(job.file for job in needed.jobs), tuple(job.file for job in needed.unchanged))


def _result(planned: Plan, summary: Summary, report: Report) -> dict[str, Any]:
    return {
        "out": str(planned.target.folder),
        "done": [str(file) for file in summary.done],
        "unchanged": [str(file) for file in summary.unchanged],
        "passed_over": [{"file": str(file), "reason": reason} for file, reason in planned.passed_over],
        "failed": [{"file": str(file), "reason": reason} for file, reason in report.faults],
        "seconds": round(summary.seconds, 3),
    }
