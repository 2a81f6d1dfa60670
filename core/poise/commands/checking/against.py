"""`poise check --against`: compares files on disk with a record of them."""

from collections.abc import Iterator, Sequence
from pathlib import Path

from poise.commands.checking.results import CheckResult
from poise.commands.shared.output import say, shown
from poise.commands.shared.progress import with_progress
from poise.delivery.fault import Fault
from poise.delivery.read_record import Recorded, read
from poise.delivery.record import hash_of
from poise.delivery.verify import SOURCE, unrecorded, verify
from poise.errors import FileError, UsageError
from poise.frames.scan import scan
from poise.frames.shots import Shot


def compare_with_record(record: Path, paths: Sequence[Path], out: Path | None, sidecars: Path | None) -> CheckResult:
    """Compare outputs, sources and decisions with a record.

    Args:
        record: the manifest of a batch, or the JSON of a report.
        paths: the folders of the sources. Default: the folder of a report; the sources of a manifest are not checked.
        out: the folder of the outputs. Default: the folder of a manifest.

    Raises:
        UsageError: the file is neither, lists no files to check, or lists outputs whose folder is unknown.
    """
    found = read(record)
    manifest = found.decisions is None
    outputs = out or (record.parent if manifest else None)
    if found.outputs and outputs is None:
        raise UsageError("the record lists outputs; name their folder with --out")
    roots = [*paths] or ([] if manifest else [record.parent])
    todo = [(claim, [outputs]) for claim in found.outputs if outputs] + [
        (claim, roots) for claim in found.sources if roots
    ]
    if not todo:
        raise UsageError(f"{shown(record)}: it lists no files to compare; nothing to check")
    faults = list(found.faults)
    for fault in with_progress((verify(claim, folders) for claim, folders in todo), len(todo), "files", "check"):
        faults += [fault] if fault else []
    if outputs and found.outputs:
        faults += unrecorded(outputs, (claim.name for claim in found.outputs), "output")
    if not manifest:
        faults += _decisions(found, roots, sidecars)
    elif not roots:
        say("note: sources are not checked; name their folder as PATH")
    return CheckResult(len(todo), tuple(faults))


def _decisions(found: Recorded, roots: Sequence[Path], sidecars: Path | None) -> Iterator[Fault]:
    """Faults of shots that are not in the record, or whose decision differs from the recorded one."""
    from poise.sidecar import load_or_none

    recorded = found.decisions or {}
    for shot in scan(roots, sidecars=sidecars).shots:
        name = str(shot.first.parent / shot.name)
        files = [shot.relative(file).as_posix() for file in shot.files]
        more = [file for file in files if file not in recorded]
        if more:
            words = f"{_frames(shot, more)} not in the record; remove the file, or write a new record"
            yield Fault(name, "extra", float(len(more)), 0.0, "frames", SOURCE, words)
        try:
            sidecar = load_or_none(shot)
        except FileError as fault:
            yield Fault(str(fault.path), "sidecar", words=fault.reason)
            continue
        now = hash_of(sidecar, shot.first.parent)
        if other := [hashes for file in files if (hashes := recorded.get(file)) and now not in hashes]:
            words = "its decision differs from the recorded one; restore that, or write a new record"
            yield Fault(name, "changed", now, min(other[0]), "", SOURCE, words)


def _frames(shot: Shot, more: Sequence[str]) -> str:
    return f"{len(more)} of its frames, from {more[0]} on, are" if shot.numbers else "it is"
