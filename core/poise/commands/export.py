"""`poise export`: decisions go to whoever comes next, in a published standard."""

from pathlib import Path, PurePath

import click

from poise.batch.plan import left_out
from poise.commands.exporting import TARGETS, Wanted, target
from poise.commands.shared.options import AS_JSON, PATHS, SIDECARS
from poise.commands.shared.output import Report, data, say, shown
from poise.commands.shared.shots import found
from poise.errors import UsageError
from poise.exchange.destination import Destination
from poise.exchange.names import place

FORMS = ("cc", "ccc", "cdl")


@click.command("export")
@PATHS
@click.option("--to", "standard", type=click.Choice(tuple(TARGETS)), required=True, help="The standard.")
@click.option(
    "--out",
    required=True,
    metavar="DIR",
    type=click.Path(file_okay=False, path_type=Path),
    help="The folder to write to.",
)
@click.option("--form", type=click.Choice(FORMS), help="cdl: only .cc (one a shot), .ccc or .cdl (the reel).")
@click.option("--strict", is_flag=True, help="cdl: refuse a shot that it can't hold exactly, instead of a fit.")
@click.option("--without-mattes", is_flag=True, help="clf: leave the mattes of a shot out, instead of refusing it.")
@click.option("--all", "everything", is_flag=True, help="Take shots without a sidecar as neutral.")
@click.option("--again", is_flag=True, help="Replace files in DIR that someone else wrote or changed.")
@click.option("--dry-run", is_flag=True, help="Print what would be written, and write nothing.")
@SIDECARS
@AS_JSON
def command(
    paths: tuple[Path, ...],
    standard: str,
    out: Path,
    form: str | None,
    strict: bool,
    without_mattes: bool,
    everything: bool,
    again: bool,
    dry_run: bool,
    sidecars: Path | None,
    as_json: bool,
) -> None:
    """Write decisions in a published standard, for whoever comes next.

    Shots without a sidecar, held or skipped are passed over, as by apply. A file in DIR that poise didn't write, or
    that someone changed since, is left alone unless --again.

    Example: poise export day --to cdl --out handover

    Example: poise export day --to clf --out handover
    """
    report = Report()
    kind = target(standard)
    for name, given in (("form", form), ("strict", strict), ("without_mattes", without_mattes)):
        if given and name not in kind.TAKES:
            raise UsageError(f"--{name.replace('_', '-')} means nothing to --to {standard}; leave it out")
    shots, passed, places = [], [], dict[PurePath, Path]()
    for one in found(paths, report, sidecars=sidecars):
        reason = left_out(one.decision, everything)
        if reason is None:
            if (other := places.setdefault(place(one.shot), one.path)) != one.path:
                report.fault(one.path, f"it has the same place below its folder as {other}; export them one by one")
            else:
                shots.append(one)
            continue
        passed.append({"file": str(one.path), "reason": reason})
        if not as_json:
            report.passed_over(one.path, reason)
    into = Destination(out, again, dry_run)
    entries = kind.export(shots, Wanted(strict, form, as_json, without_mattes), into, report)
    if as_json:
        failed = [{"file": str(path), "reason": reason} for path, reason in report.faults]
        files = {"written": [str(path) for path in into.written], "unchanged": [str(path) for path in into.kept]}
        data({"out": str(out), **files, "shots": entries, "passed_over": passed, "failed": failed, "dry_run": dry_run})
    elif entries:
        kept = f", {len(into.kept)} unchanged" if into.kept else ""
        verb = "to be written" if dry_run else "written"
        say(f"{len(into.written)} {'file' if len(into.written) == 1 else 'files'} {verb} to {shown(out)}{kept}")
    report.need(len(entries) + len(report.faults), "nothing to export: every shot was passed over")
    report.end()
