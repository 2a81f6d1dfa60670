"""`poise export --to cdl`: ASC CDL v1.2, one `.cc` per shot, one `.ccc` and one `.cdl` for the reel."""

from collections.abc import Sequence
from contextlib import suppress
from pathlib import PurePosixPath
from typing import Any

import click

from poise import __version__
from poise.chain import encoding as ends
from poise.chain.source import resolve_source
from poise.commands.exporting import ExportJob, ExportOptions, expressed
from poise.commands.shared.output import Report, shown, some
from poise.commands.shared.shots import Found
from poise.correction import NEUTRAL, Encoding, default_encoding
from poise.errors import FileError, PoiseError
from poise.exchange import names
from poise.exchange.cdl import (
    Cdl,
    CdlError,
    Entry,
    Residual,
    cc,
    ccc,
    code_descriptions,
    decision_list,
    fit,
    fold,
    parts_beyond_cdl,
)
from poise.exchange.cdl import read as read_cdl
from poise.exchange.destination import Destination
from poise.frames import Probe, probe, read

TAKES = frozenset({"form", "strict"})
BEYOND = "a CDL can't represent this"


def export(shots: Sequence[Found], options: ExportOptions, into: Destination, report: Report) -> list[dict[str, Any]]:
    """Write the files, print a line for each shot, and return an entry for each one written."""
    entries: list[Entry] = []
    done: list[dict[str, Any]] = []
    for job, (entry, about) in expressed(express, shots, ".cc", options, report):
        try:
            if options.form in (None, "cc"):
                into.put(job.file, cc(entry))
        except FileError as fault:
            report.fault(fault.path, fault.reason)
        else:
            entries.append(entry)
            done.append(about)
            if not options.as_json:
                click.echo(f"{shown(job.path)}: {shown(job.id)}, {entry.descriptions[-1]}")
    if entries:
        _reel(entries, _title(shots), options, into, report)
    return done


def _reel(entries: Sequence[Entry], title: str, options: ExportOptions, into: Destination, report: Report) -> None:
    """Write the files that contain all shots, and report the shots that an earlier file contained in addition."""
    heading = f"poise {__version__}: {title}, {len(entries)} shot{'' if len(entries) == 1 else 's'}"
    for form, write in (("ccc", ccc), ("cdl", decision_list)):
        if options.form not in (None, form):
            continue
        place = PurePosixPath(f"{title}.{form}")
        before: list[str] = []
        with suppress(CdlError):
            before = [entry.id for entry in read_cdl(into.folder / place) if entry.id]
        try:
            path = into.put(place, write(entries, heading))
        except FileError as fault:
            report.fault(fault.path, fault.reason)
            continue
        kept = {entry.id for entry in entries}
        if gone := [name for name in before if name not in kept]:
            report.note(path, f"no longer in it: {some(gone)}")


def _title(shots: Sequence[Found]) -> str:
    """The title of the reel: the name of the folder that the user named, if there is just one."""
    roots = {one.shot.root.resolve() for one in shots}
    return (roots.pop().name if len(roots) == 1 else "") or "reel"


def express(job: ExportJob) -> tuple[Entry, dict[str, Any]]:
    """A shot's correction as one CDL, and its entry for JSON.

    Raises:
        PoiseError: strict, and no CDL is exact; the picture can't be read, or can't take the correction.
    """
    one = job.one
    header = probe(one.file)
    correction = one.sidecar.correction if one.sidecar else NEUTRAL
    named = one.sidecar.encoding if one.sidecar else None
    encoding = resolve_source(named, one.folder) or default_encoding(header.linear, header.tags)
    left = parts_beyond_cdl(correction, encoding)
    cdl, off = fold(correction, encoding), None
    _possible(cdl, encoding, header)
    if left:
        if job.options.strict:
            raise PoiseError(f"{BEYOND}: {', '.join(left)}; without --strict the nearest CDL is written")
        frame = read(one.file)
        cdl, off = fit(frame.colour, correction, encoding, frame.depth)
    descriptions = _descriptions(one, left, off, header, flared=any(correction.light.flare))
    entry = Entry(job.id, cdl, (names.media(one.shot),), descriptions, *code_descriptions(encoding))
    residual = None if off is None else {"mean": off.mean, "worst": off.worst, "of": off.maximum}
    numbers = {"slope": cdl.slope, "offset": cdl.offset, "power": cdl.power, "saturation": cdl.saturation}
    about = {"file": str(one.path), "id": job.id, **numbers, "exact": off is None, "unfit": list(left)}
    return entry, {**about, "off": residual}


def _possible(cdl: Cdl, encoding: Encoding, header: Probe) -> None:
    """Refuse what `apply` refuses, so that no correction is exported that it would not carry out."""
    ends.entry(encoding, header.depth)
    if header.channels < 3 and any(len(set(triple)) > 1 for triple in (cdl.slope, cdl.offset, cdl.power)):
        raise PoiseError("a greyscale picture takes no balance between channels; level it")


def _descriptions(
    one: Found, left: tuple[str, ...], off: Residual | None, header: Probe, flared: bool
) -> tuple[str, ...]:
    """How the numbers were made: the program, how to clamp, and whether they are exact."""
    style = "float: nothing is clamped" if header.depth.is_float else "clamped to 0..1 before power and at the end"
    if off is None:
        words = f"exact: {'flare, ' if flared else ''}balance, levels and saturation"
    else:
        words = f"nearest, since {BEYOND}: {', '.join(left)}; {off}, on {one.file.name}"
    return f"poise {__version__}", style, words
