"""`poise import FILE.clf`: a file in the Common LUT Format becomes the source of shots."""

import os
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import click
from msgspec.structs import replace

from poise.chain.source import located, transform
from poise.commands.shared.output import Report, data, shown
from poise.commands.shared.shots import Found
from poise.correction import Encoding, default_encoding
from poise.errors import FileError, PoiseError, UsageError
from poise.exchange.ours import coded


def is_clf(file: Path) -> bool:
    """Whether a file is in the Common LUT Format, by its ending."""
    return file.suffix.lower() == ".clf"


def name_source(
    files: Sequence[Path], shots: Sequence[Found], gives: str | None, dry_run: bool, as_json: bool, report: Report
) -> None:
    """Names a CLF as the source of shots, tells each, and ends the command.

    Args:
        gives: the transfer function of what it gives; None for linear light.

    Raises:
        UsageError: it is not one file, there is no such transfer function, or there are no shots.
    """
    if len(files) != 1:
        raise UsageError("a shot has one source: import one .clf by itself")
    (file,) = files
    if gives is not None:
        from poise.colour.transfer import decode

        try:
            decode(gives, 0.5)
        except PoiseError as fault:
            raise UsageError(f"--gives: {fault}") from None
    told: list[dict[str, Any]] = []
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
            told.append({"file": str(one.path), "source": encoding.source, "clf_gives": encoding.clf_gives})
            if not as_json:
                light = "linear light" if encoding.given == "linear" else f"{encoding.given} code"
                into = f"{light} in {encoding.primaries}, delivered as {encoding.delivery}"
                click.echo(f"{shown(one.path)}: through {shown(encoding.source)} to {into}")
    if as_json:
        failed = [{"file": str(path), "reason": reason} for path, reason in report.faults]
        data({"done": told, "failed": failed, "dry_run": dry_run})
    report.need(len(told) + len(report.faults), "nothing to import: there is no shot")
    report.end()


def _encoding(one: Found, file: Path, gives: str) -> Encoding:
    """The shot's encoding with the file as its source, once that can be taken.

    Raises:
        PoiseError: it can't.
    """
    from poise.frames import probe

    folder = one.folder
    if not os.path.lexists(file):
        raise PoiseError(f"there is no {file} to be its source; check the name")
    place = os.path.relpath(os.path.join(os.path.realpath(file.parent), file.name), os.path.realpath(folder))
    if place.startswith(os.pardir + os.sep) or os.path.isabs(place):
        raise PoiseError(f"{file} is not in its folder; copy it to {folder}, and import it from there")
    present = one.sidecar.encoding if one.sidecar else None
    encoding = replace(
        present or default_encoding(probe(one.file).linear), source=Path(place).as_posix(), clf_gives=gives
    )
    transform(located(encoding, folder))
    if gives == "linear" and (code := coded(file)):
        raise PoiseError(
            f"{file} was written by poise export: it is a whole correction, and gives {code} code, not linear light; "
            "take decisions over by ASC CDL or poise copy, or say what it gives by --gives"
        )
    return encoding
