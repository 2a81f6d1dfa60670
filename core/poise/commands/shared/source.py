"""`poise import FILE.clf`: makes a file in the Common LUT Format the source of shots."""

import os
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import click
from msgspec.structs import replace

from poise.chain.source import resolve_source, transform
from poise.commands.shared.output import Report, data, shown
from poise.commands.shared.shots import Found
from poise.correction import Encoding, default_encoding
from poise.errors import FileError, PoiseError, UsageError
from poise.exchange.own_clf import exported_code
from poise.invocation import program_name


def is_clf(file: Path) -> bool:
    """Whether a file is in the Common LUT Format, judged by its extension."""
    return file.suffix.lower() == ".clf"


def name_source(
    files: Sequence[Path], shots: Sequence[Found], gives: str | None, dry_run: bool, as_json: bool, report: Report
) -> None:
    """Set a CLF as the source of shots, print each, and end the command.

    Args:
        gives: the transfer function of its output; None for linear light.

    Raises:
        UsageError: there is more than one file, the transfer function is unknown, or there are no shots.
    """
    if len(files) != 1:
        raise UsageError("a shot has one source: import one .clf at a time")
    (file,) = files
    if gives is not None:
        from poise.colour.transfer import decode

        try:
            decode(gives, 0.5)
        except PoiseError as fault:
            raise UsageError(f"--gives: {fault}") from None
    done: list[dict[str, Any]] = []
    for one in shots:
        try:
            encoding = _encoding(one, file, gives or "linear")
            if not dry_run:
                from poise.commands.shared.decisions import encode

                encode(one, encoding)
        except FileError as fault:
            report.fault(fault.path, fault.reason)
        except PoiseError as fault:
            report.fault(one.path, str(fault))
        else:
            done.append({"file": str(one.path), "source": encoding.source, "clf_gives": encoding.clf_gives})
            if not as_json:
                light = "linear light" if encoding.given == "linear" else f"{encoding.given} code"
                into = f"{light} in {encoding.primaries}, delivered as {encoding.delivery}"
                click.echo(f"{shown(one.path)}: through {shown(encoding.source)} to {into}")
    if as_json:
        failed = [{"file": str(path), "reason": reason} for path, reason in report.faults]
        data({"done": done, "failed": failed, "dry_run": dry_run})
    report.need(len(done) + len(report.faults), "nothing to import: there are no shots")
    report.end()


def _encoding(one: Found, file: Path, gives: str) -> Encoding:
    """The shot's encoding with the file as its source.

    Raises:
        PoiseError: the file can't be the source of this shot.
    """
    from poise.frames import probe

    folder = one.folder
    if not os.path.lexists(file):
        raise PoiseError(f"{file} does not exist; check the name")
    place = os.path.relpath(os.path.join(os.path.realpath(file.parent), file.name), os.path.realpath(folder))
    if place.startswith(os.pardir + os.sep) or os.path.isabs(place):
        raise PoiseError(f"{file} is not in its folder; copy it to {folder}, and import it from there")
    present = one.sidecar.encoding if one.sidecar else None
    header = probe(one.file)
    encoding = replace(
        present or default_encoding(header.linear, header.tags), source=Path(place).as_posix(), clf_gives=gives
    )
    transform(resolve_source(encoding, folder))
    if gives == "linear" and (code := exported_code(file)):
        raise PoiseError(
            f"{file} was written by poise export: it is a complete correction, and its output is {code} code, not "
            f"linear light; transfer decisions with ASC CDL or {program_name()} copy, or name its output with --gives"
        )
    return encoding
