"""`poise check`: checks a delivery against the limits of published standards, or your own."""

import os
from collections.abc import Iterable, Sequence
from pathlib import Path

import click

from poise.commands.checking.results import CheckResult, print_results
from poise.commands.shared.options import AS_JSON, FRAMES, SIDECARS, TIME_LIMIT, VERIFY, WORKERS
from poise.commands.shared.output import Report, say, shown
from poise.commands.shared.shots import Found, found
from poise.correction.model import Range
from poise.delivery import outputs
from poise.delivery.fault import Fault
from poise.delivery.limits import SETS, load
from poise.delivery.orphan_sidecars import orphan_sidecars
from poise.errors import UsageError


@click.command("check")
@click.argument("paths", metavar="PATH...", nargs=-1, type=click.Path(path_type=Path))
@click.option(
    "--limits", "wanted", default=SETS[0], metavar="SET", help=f"Set of limits: {', '.join(SETS)}, or a TOML file."
)
@click.option(
    "--range",
    "known",
    type=click.Choice(("full", "narrow")),
    help="Range of files whose range nothing tells: neither a sidecar, manifest, stamp nor header.",
)
@FRAMES
@click.option(
    "--out",
    metavar="DIR",
    type=click.Path(exists=True, file_okay=False, path_type=Path),
    help="Also check this folder, which apply wrote to.",
)
@VERIFY
@click.option(
    "--against", metavar="MANIFEST", type=click.Path(path_type=Path), help="Compare files with a record of them."
)
@WORKERS
@TIME_LIMIT
@SIDECARS
@AS_JSON
def command(
    paths: tuple[Path, ...],
    wanted: str,
    known: Range | None,
    frames: int | None,
    out: Path | None,
    verify: bool,
    against: Path | None,
    workers: int | None,
    time_limit: float,
    sidecars: Path | None,
    as_json: bool,
) -> None:
    """Check a delivery for faults.

    Shots are corrected as by apply, at full resolution, and checked against limits on the signal range (EBU R 103),
    pixels that the correction crushes or clips, black, white, spread and cast, a size, depth or encoding unlike the
    rest of the reel, and levels that are outliers. Of a sequence, only the judged frame is checked; with --frames, all
    frames or every Nth are, and drift and flicker are reported as cautions.

    The outputs in DIR are checked against their sources and decisions. Without --out, a folder of outputs directly
    below PATH is checked.

    SET is baseline (the default), ebu-r103, full or narrow, or a TOML file with limits of your own. The range of a file
    without a sidecar is that in the manifest beside it, in its stamp or in its DPX header; else name it with --range.

    With --against, files on disk are compared with a record of them: the manifest of apply, or the JSON of a report.

    The exit code is 1 if there are faults; cautions alone leave it at 0.

    Example: poise check day --limits ebu-r103 --out balanced

    Example: poise check --against balanced/poise-manifest.jsonl
    """
    if against is not None:
        from poise.commands.checking.against import compare_with_record

        print_results(
            compare_with_record(against, paths, out, sidecars), f"files compared with {shown(against)}", as_json
        )
        return
    if not paths:
        raise UsageError("no PATH to check; name a folder or files, or --against MANIFEST")
    limits = load(wanted)
    shots, faults = _listed(paths, sidecars)
    report = Report()
    checked = [one for one in shots if not _left_out(one, report)]
    report.need(len(checked) + len(faults), "nothing to check: every shot was passed over")
    if checked:
        from poise.commands.checking.frames import examined

        faults += examined(checked, limits, frames, workers or os.cpu_count() or 1, time_limit, known)
        faults += _outputs(checked, paths, out, verify)
    print_results(CheckResult(len(checked), _in_order(faults, shots)), f"shots checked against {limits.name}", as_json)


def _listed(paths: Sequence[Path], sidecars: Path | None) -> tuple[list[Found], list[Fault]]:
    """The shots; paths that can't be one, and sidecars without a picture, are faults."""
    report = _SilentReport()
    try:
        shots = found(paths, report, sidecars=sidecars)
    except UsageError:
        for path, reason in report.faults:
            Report().fault(path, reason)
        raise
    faults = []
    for path, reason in report.faults:
        name = "sidecar" if path.name.endswith(".poise.json") else "unreadable"
        faults.append(Fault(str(path), name, words=reason))
    known = {*(one.shot.sidecar_path for one in shots), *(path for path, _ in report.faults)}
    return shots, [*faults, *orphan_sidecars(paths, known)]


class _SilentReport(Report):
    """Collects faults without printing them."""

    def fault(self, path: Path, reason: str) -> None:
        self.faults.append((path, reason))


def _left_out(one: Found, report: Report) -> bool:
    state, note = (one.sidecar.state, one.sidecar.note) if one.sidecar else ("new", "")
    if state not in ("held", "skipped"):
        return False
    report.passed_over(one.path, state + (f": {note}" if note else ""))
    return True


def _outputs(shots: Iterable[Found], paths: Sequence[Path], out: Path | None, verify: bool) -> list[Fault]:
    """The faults of outputs, if their folder is named or can be found."""
    there = [out] if out is not None else outputs.folders_below(paths)
    if len(there) > 1:
        say(f"note: outputs in {' and '.join(map(shown, there))} are not checked; choose one with --out")
    if len(there) != 1:
        return []
    if out is None:
        say(f"note: also checking the outputs in {shown(there[0])}")
    return outputs.faults([(one.shot, one.decision) for one in shots], there[0], verify)


def _in_order(faults: Iterable[Fault], shots: Iterable[Found]) -> tuple[Fault, ...]:
    """The faults in the order of the shots."""
    places: dict[str, int] = {}
    for place, one in enumerate(shots):
        for file in (one.path, *one.shot.files):
            places[str(file)] = place
    return tuple(sorted(faults, key=lambda fault: places.get(fault.file, -1)))
