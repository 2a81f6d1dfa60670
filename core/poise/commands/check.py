"""`poise check`: what a delivery may not have, by limits of published standards or of one's own."""

import os
from collections.abc import Iterable, Sequence
from pathlib import Path

import click

from poise.commands.checking.told import Checked, tell
from poise.commands.shared.options import AS_JSON, FRAMES, SIDECARS, TIME_LIMIT, VERIFY, WORKERS
from poise.commands.shared.output import Report, say, shown
from poise.commands.shared.shots import Found, found
from poise.delivery import outputs
from poise.delivery.fault import Fault
from poise.delivery.limits import SETS, load
from poise.delivery.orphan_sidecars import alone
from poise.errors import UsageError


@click.command("check")
@click.argument("paths", metavar="PATH...", nargs=-1, type=click.Path(path_type=Path))
@click.option("--limits", "wanted", default=SETS[0], metavar="SET", help=f"{', '.join(SETS)}, or a TOML file.")
@FRAMES
@click.option(
    "--out",
    metavar="DIR",
    type=click.Path(exists=True, file_okay=False, path_type=Path),
    help="The folder of the outputs of apply.",
)
@VERIFY
@click.option("--against", metavar="MANIFEST", type=click.Path(path_type=Path), help="Prove files by a record of them.")
@WORKERS
@TIME_LIMIT
@SIDECARS
@AS_JSON
def command(
    paths: tuple[Path, ...],
    wanted: str,
    frames: int | None,
    out: Path | None,
    verify: bool,
    against: Path | None,
    workers: int | None,
    time_limit: float,
    sidecars: Path | None,
    as_json: bool,
) -> None:
    """Find what a delivery may not have.

    Shots are corrected as apply would, at full resolution, and held to limits: the range of the signal (EBU R 103),
    what the correction crushed or clipped, black, white, spread and cast, other sizes, depths and encodings than most,
    and levels that stand apart from the reel. Of a sequence, the frame is looked at that it is judged on; with
    --frames, all of them or every Nth, and what drifts or flickers is told as a caution.

    The outputs in DIR are held to their sources and decisions; without --out, those in a folder directly below PATH.

    SET is baseline (when not given), ebu-r103, full or narrow, or a TOML file of limits of your own.

    With --against, files on disk are held to a record of them: the manifest of apply, or the JSON of a report.

    Exit code 1 says that there are faults; cautions alone leave it 0.

    Example: poise check day --limits ebu-r103 --out balanced

    Example: poise check --against balanced/poise-manifest.jsonl
    """
    if against is not None:
        from poise.commands.checking.against import held_against

        tell(held_against(against, paths, out, sidecars), f"files held against {shown(against)}", as_json)
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

        faults += examined(checked, limits, frames, workers or os.cpu_count() or 1, time_limit)
        faults += _outputs(checked, paths, out, verify)
    tell(Checked(len(checked), _in_order(faults, shots)), f"shots checked by {limits.name}", as_json)


def _listed(paths: Sequence[Path], sidecars: Path | None) -> tuple[list[Found], list[Fault]]:
    """The shots, and what can't be listed as faults."""
    report = _Kept()
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
    return shots, [*faults, *alone(paths, known)]


class _Kept(Report):
    """Keeps faults instead of telling them at once."""

    def fault(self, path: Path, reason: str) -> None:
        self.faults.append((path, reason))


def _left_out(one: Found, report: Report) -> bool:
    state, note = (one.sidecar.state, one.sidecar.note) if one.sidecar else ("new", "")
    if state not in ("held", "skipped"):
        return False
    report.passed_over(one.path, state + (f": {note}" if note else ""))
    return True


def _outputs(shots: Iterable[Found], paths: Sequence[Path], out: Path | None, verify: bool) -> list[Fault]:
    """What is wrong with the outputs, where a folder of them is named or found."""
    there = [out] if out is not None else outputs.folders_below(paths)
    if len(there) > 1:
        say(f"note: outputs in {' and '.join(map(shown, there))} are not looked at; choose one by --out")
    if len(there) != 1:
        return []
    if out is None:
        say(f"note: the outputs in {shown(there[0])} are looked at as well")
    return outputs.faults([(one.shot, one.decision) for one in shots], there[0], verify)


def _in_order(faults: Iterable[Fault], shots: Iterable[Found]) -> tuple[Fault, ...]:
    """Faults shot by shot."""
    places: dict[str, int] = {}
    for place, one in enumerate(shots):
        for file in (one.path, *one.shot.files):
            places[str(file)] = place
    return tuple(sorted(faults, key=lambda fault: places.get(fault.file, -1)))
