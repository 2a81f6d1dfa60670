"""`poise export --to cdl`: ASC CDL v1.2, one `.cc` a shot, one `.ccc` and one `.cdl` for all."""

from collections import Counter
from collections.abc import Sequence
from pathlib import Path, PurePosixPath
from typing import Any

import click

from poise import __version__
from poise.commands.exporting import Wanted
from poise.commands.output import Report, shown
from poise.commands.shots import Found
from poise.correction import NEUTRAL, default_encoding
from poise.errors import FileError, PoiseError
from poise.exchange import names
from poise.exchange.cdl import Cdl, Entry, cc, ccc, decision_list, folded, unfit
from poise.exchange.destination import Destination
from poise.frames import probe

TAKES = frozenset({"form", "strict"})


def export(shots: Sequence[Found], wanted: Wanted, into: Destination, report: Report) -> list[dict[str, Any]]:
    """Writes the files, tells each shot in a line, and returns an entry for each."""
    entries: list[Entry] = []
    told: list[dict[str, Any]] = []
    alone = Counter(names.place(one.shot).with_name(names.plain_name(one.shot)) for one in shots)
    for one, name in zip(shots, names.ids([one.shot for one in shots]), strict=True):
        try:
            entry, about = _entry(one, name, wanted)
            if wanted.form in (None, "cc"):
                short = names.place(one.shot).with_name(names.plain_name(one.shot))
                stem = short if alone[short] == 1 else names.place(one.shot)
                into.put(stem.with_name(f"{stem.name}.cc"), cc(entry))
        except FileError as fault:
            report.fault(fault.path, fault.reason)
        except PoiseError as fault:
            report.fault(one.path, str(fault))
        else:
            entries.append(entry)
            told.append(about)
            if not wanted.as_json:
                click.echo(f"{shown(one.path)}: {name}, {about['told']}")
    if entries:
        _reel(entries, _title(shots), wanted, into, report)
    return told


def _entry(one: Found, name: str, wanted: Wanted) -> tuple[Entry, dict[str, Any]]:
    """A shot's correction as one CDL, and what is told of it.

    Raises:
        PoiseError: it can't be one, or its picture can't be read.
    """
    sidecar = one.sidecar
    correction = sidecar.correction if sidecar else NEUTRAL
    named = sidecar.encoding if sidecar else None
    encoding = named or default_encoding(probe(one.file).linear)
    left = unfit(correction, encoding)
    if left:
        raise PoiseError(f"{' and '.join(left)}: no CDL holds that; export it without --strict for a fit")
    cdl, words = folded(correction), "exact"
    code = f"{encoding.source} code, {encoding.primaries}, range {encoding.range}"
    out = f"{encoding.delivery} code, {encoding.work_primaries}, range {encoding.range}"
    told = (f"poise {__version__}", words)
    entry = Entry(name, cdl, (names.media(one.shot),), told, code, out)
    return entry, {"file": str(one.path), "id": name, **_numbers(cdl), "exact": not left, "told": words}


def _numbers(cdl: Cdl) -> dict[str, Any]:
    return {"slope": cdl.slope, "offset": cdl.offset, "power": cdl.power, "saturation": cdl.saturation}


def _reel(entries: Sequence[Entry], title: str, wanted: Wanted, into: Destination, report: Report) -> None:
    about = f"poise {__version__}: {title}, {len(entries)} shots"
    for form, write in (("ccc", ccc), ("cdl", decision_list)):
        if wanted.form in (None, form):
            try:
                into.put(PurePosixPath(f"{title}.{form}"), write(entries, about))
            except FileError as fault:
                report.fault(fault.path, fault.reason)


def _title(shots: Sequence[Found]) -> str:
    """What the reel is called: as the folder that was asked for, where there is one."""
    roots = {Path(one.shot.root).resolve() for one in shots}
    name = roots.pop().name if len(roots) == 1 else ""
    return name or "reel"
