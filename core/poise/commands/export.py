"""`poise export`: exports decisions in a published standard."""

import os
from pathlib import Path, PurePath

import click
import msgspec

from poise.batch.plan import reason_left_out
from poise.commands.exporting import TARGETS, ExportOptions, target
from poise.commands.shared.options import AS_JSON, EVERYTHING, OUT, PATHS, SIDECARS, TIME_LIMIT, VERSION, WORKERS
from poise.commands.shared.output import Report, data, say, shown
from poise.commands.shared.shots import Found, found
from poise.errors import UsageError
from poise.exchange.destination import Destination
from poise.exchange.names import place
from poise.frames.shots import Shot

FORMS = ("cc", "ccc", "cdl")


@click.command("export")
@PATHS
@click.option("--to", "standard", type=click.Choice(tuple(TARGETS)), required=True, help="The standard to export.")
@OUT
@click.option(
    "--form", type=click.Choice(FORMS), help="cdl: write only .cc (one per shot), .ccc or .cdl (one per reel)."
)
@click.option(
    "--strict", is_flag=True, help="cdl: refuse a shot that a CDL can't represent exactly, instead of fitting one."
)
@click.option("--without-mattes", is_flag=True, help="clf: leave out the mattes of a shot, instead of refusing it.")
@VERSION
@EVERYTHING
@click.option("--again", is_flag=True, help="Also replace files in DIR that someone else wrote or changed.")
@click.option("--dry-run", is_flag=True, help="Print what would be written, and write nothing.")
@WORKERS
@TIME_LIMIT
@SIDECARS
@AS_JSON
def command(
    paths: tuple[Path, ...],
    standard: str,
    out: Path,
    form: str | None,
    strict: bool,
    without_mattes: bool,
    version: str,
    everything: bool,
    again: bool,
    dry_run: bool,
    workers: int | None,
    time_limit: float,
    sidecars: Path | None,
    as_json: bool,
) -> None:
    """Export decisions as ASC CDL or Common LUT Format.

    Shots that are held, skipped or have no sidecar are passed over, as by apply. A file in DIR that poise didn't write,
    or that someone has changed since, is kept unless --again.

    A sequence with keyframes gets one correction for each of them, named after its frame.

    Example: poise export day --to cdl --out handover

    Example: poise export day --to clf --out handover
    """
    report = Report()
    kind = target(standard)
    for name, given in (("form", form), ("strict", strict), ("without_mattes", without_mattes)):
        if given and name not in kind.TAKES:
            raise UsageError(f"--{name.replace('_', '-')} does not apply to --to {standard}; leave it out")
    shots, passed, places = [], [], dict[PurePath, Path]()
    for one in found(paths, report, sidecars=sidecars):
        reason = reason_left_out(one.decision, everything, version)
        if reason is None:
            if (other := places.setdefault(place(one.shot), one.path)) != one.path:
                report.fault(one.path, f"it has the same path below its folder as {other}; export them separately")
            else:
                shots += _keyframes(one.under(version), report)
            continue
        passed.append({"file": str(one.path), "reason": reason})
        if not as_json:
            report.passed_over(one.path, reason)
    into = Destination(out, again, dry_run)
    options = ExportOptions(strict, form, as_json, without_mattes, workers or os.cpu_count() or 1, time_limit)
    entries = kind.export(shots, options, into, report)
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


def _keyframes(one: Found, report: Report) -> list[Found]:
    """A shot, or each keyframe of a sequence as a shot of its own, named after its frame."""
    sidecar, shot = one.sidecar, one.shot
    if sidecar is not None and sidecar.steady is not None:
        report.note(one.path, "its steady values are not exported; they are gains of single frames")
    if sidecar is None or not sidecar.keyframes or not shot.numbers:
        return [one]
    many = len(sidecar.keyframes)
    report.note(one.path, f"it has {many} keyframe{'s' * (many > 1)}: one correction is exported for each of them")
    shots = []
    digits = "#" * shot.name.count("#")
    for keyframe in sidecar.keyframes:
        name = shot.name.replace(digits, f"{keyframe.frame:0{len(digits)}}")
        still = Shot(name, shot.root, (shot.files[shot.nearest(keyframe.frame)],), False, sidecars=shot.sidecars)
        decided = msgspec.structs.replace(sidecar, correction=keyframe.correction, keyframes=())
        shots.append(Found(still, decided))
    return shots
