"""`poise check --against`: whether files on disk are the ones that were recorded."""

from collections.abc import Iterator, Sequence
from pathlib import Path

from poise.chain.source import located
from poise.commands.checking.told import Checked
from poise.commands.shared.output import say, shown
from poise.commands.shared.progress import with_progress
from poise.delivery.fault import Fault
from poise.delivery.record import decided
from poise.delivery.recorded import Recorded, read
from poise.delivery.verify import SOURCE, extra, held
from poise.errors import FileError, UsageError
from poise.frames.scan import scan
from poise.frames.shots import Shot


def held_against(record: Path, paths: Sequence[Path], out: Path | None, sidecars: Path | None) -> Checked:
    """Holds outputs, sources and decisions to a record.

    Args:
        record: the manifest of a batch, or the JSON of a report.
        paths: the folders of the sources; without any, a manifest's are not looked at, and a report's are sought
            beside it.
        out: the folder of the outputs; without one, they are sought beside a manifest.

    Raises:
        UsageError: it is neither, tells of no files, or tells of outputs and no folder is named.
    """
    found = read(record)
    manifest = found.decisions is None
    outputs = out or (record.parent if manifest else None)
    if found.outputs and outputs is None:
        raise UsageError("the record tells of outputs; name their folder by --out")
    roots = [*paths] or ([] if manifest else [record.parent])
    todo = [(claim, [outputs]) for claim in found.outputs if outputs] + [
        (claim, roots) for claim in found.sources if roots
    ]
    if not todo:
        raise UsageError(f"{shown(record)}: it tells of no files that could be looked at; nothing to check")
    faults = list(found.faults)
    for fault in with_progress((held(claim, folders) for claim, folders in todo), len(todo), "files", "check"):
        faults += [fault] if fault else []
    if outputs and found.outputs:
        faults += extra(outputs, (claim.name for claim in found.outputs), "output")
    if not manifest:
        faults += _decisions(found, roots, sidecars)
    elif not roots:
        say("note: sources are not looked at; name their folder as PATH")
    return Checked(len(todo), tuple(faults))


def _decisions(found: Recorded, roots: Sequence[Path], sidecars: Path | None) -> Iterator[Fault]:
    """Shots that were not recorded, or about which something else is decided now."""
    from poise.sidecar import load_or_none

    recorded = found.decisions or {}
    for shot in scan(roots, sidecars=sidecars).shots:
        name = str(shot.first.parent / shot.name)
        files = [shot.relative(file).as_posix() for file in shot.files]
        more = [file for file in files if file not in recorded]
        if more:
            words = f"{_frames(shot, more)} not recorded; take it out, or make the record anew"
            yield Fault(name, "extra", float(len(more)), 0.0, "frames", SOURCE, words)
        try:
            sidecar = load_or_none(shot)
        except FileError as fault:
            yield Fault(str(fault.path), "sidecar", words=fault.reason)
            continue
        now = decided(sidecar.correction, located(sidecar.encoding, shot.first.parent)) if sidecar else ""
        if other := [told for file in files if (told := recorded.get(file)) and now not in told]:
            words = "something else is decided about it than was recorded; go back, or make the record anew"
            yield Fault(name, "changed", now, min(other[0]), "", SOURCE, words)


def _frames(shot: Shot, more: Sequence[str]) -> str:
    return f"{len(more)} of its frames, from {more[0]} on, are" if shot.numbers else "it is"
