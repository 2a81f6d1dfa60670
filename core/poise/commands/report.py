"""`poise report`: a contact sheet of shots as one HTML file, and a record of the hashes of its files."""

import datetime
import os
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from poise.atomic import atomic_replace
from poise.commands.shared.options import FRAMES, PATHS, SIDECARS, WORKERS
from poise.commands.shared.output import Report, data, say, shown
from poise.commands.shared.progress import with_progress
from poise.errors import OutputError, UsageError, one_line

if TYPE_CHECKING:
    from poise.delivery.limits import Limits
    from poise.report.gather import Row, Subject
    from poise.report.look import ExaminedShot


@click.command("report")
@PATHS
@click.option("--out", metavar="FILE", type=click.Path(path_type=Path), help="The HTML file to write.")
@click.option("--json", "as_json", is_flag=True, help="Print the record as JSON.")
@click.option(
    "--outputs",
    metavar="DIR",
    type=click.Path(exists=True, file_okay=False, path_type=Path),
    help="The folder that apply wrote to, to include its outputs in the record.",
)
@click.option(
    "--limits", "wanted", default="baseline", metavar="SET", help="Set of limits for faults, as for poise check."
)
@click.option("--title", metavar="TEXT", help="Title of the sheet. Default: the name of the folder.")
@WORKERS
@FRAMES
@SIDECARS
def command(
    paths: tuple[Path, ...],
    out: Path | None,
    as_json: bool,
    outputs: Path | None,
    wanted: str,
    title: str | None,
    workers: int | None,
    frames: int | None,
    sidecars: Path | None,
) -> None:
    """Write a contact sheet of shots, with a record of every file's hash.

    The sheet is one HTML file that needs neither a server nor a network. It shows the reel as a plot, and for each shot
    the picture, waveform, parade and readings before and after, the correction in words and numbers, the note and the
    state. It can be searched, filtered, sorted and printed.

    The record is part of the sheet, and --json prints it. It has the hash of every source, decision and output, for
    poise check --against.

    Of a sequence, the sheet shows the judged frame. With --frames all or --frames 8, all frames or every 8th are read
    too, and the sheet says how much they drift.

    Example: poise report day --out day.html --outputs balanced
    """
    from poise.delivery.limits import load
    from poise.report.gather import gather, rows
    from poise.report.record import record

    if out is None and not as_json:
        raise UsageError("nothing to write: name a file with --out FILE.html, or print the record with --json")
    if out is not None:
        _require_html(out)
    limits = load(wanted)
    subjects = gather(paths, sidecars)
    _require_manifest(outputs)
    report = Report()
    examined = _examined(subjects, limits, workers or os.cpu_count() or 1, frames or 0)
    listed = rows(subjects, examined, limits, outputs)
    for one in listed:
        for reason in one.trouble:
            report.fault(one.subject.path, reason)
    now = datetime.datetime.now(datetime.UTC)
    folder = ", ".join(one_line(path) for path in paths)
    found = record(listed, folder, now.strftime("%Y-%m-%dT%H:%M:%SZ"))
    if out is not None:
        _write(out, listed, title or _title(paths), folder, now, found, limits.threshold)
    if as_json:
        data(found)
    report.end()


def _require_html(out: Path) -> None:
    """Refuse a target before any work starts; as it must be HTML, it can't be a source or a sidecar.

    Raises:
        UsageError: it is not a regular file, has another extension, or its folder does not exist.
    """
    if out.suffix.lower() not in (".html", ".htm"):
        raise UsageError(f"{one_line(out)}: a sheet is an HTML file; choose a name that ends in .html")
    if os.path.lexists(out) and not (out.is_file() or out.is_symlink()):
        raise UsageError(f"{one_line(out)}: this is not a regular file; choose another name")
    if not out.parent.is_dir():
        raise UsageError(f"{one_line(out.parent)}: no such folder; create it first")


def _require_manifest(outputs: Path | None) -> None:
    """Refuse a folder that `apply` did not write to.

    Raises:
        UsageError: it has no manifest.
    """
    from poise.frames.scan import MANIFEST

    if outputs is not None and not (outputs / MANIFEST).is_file():
        raise UsageError(f"{one_line(outputs)}: no {MANIFEST} in it; name the folder that poise apply wrote to")


def _examined(
    subjects: "Sequence[Subject]", limits: "Limits", workers: int, every: int
) -> "dict[int, ExaminedShot | str]":
    from poise.report.gather import examine_shots

    total = sum(one.shot is not None for one in subjects)
    return dict(with_progress(examine_shots(subjects, limits, workers, every), total, "shots", "report"))


def _write(
    out: Path,
    rows: "Sequence[Row]",
    title: str,
    folder: str,
    now: datetime.datetime,
    found: dict[str, Any],
    threshold: float,
) -> None:
    """Write the sheet atomically, and print its size.

    Raises:
        OutputError: it can't be written.
    """
    from poise.report.card import cards
    from poise.report.sheet import About, in_bytes, render

    about = About(one_line(title), folder, now.strftime("%-d %B %Y, %H:%M UTC"))
    pieces = render(cards(rows), about, found, threshold)
    try:
        with atomic_replace(out) as temporary, temporary.open("wb") as file:
            file.writelines(pieces)
            file.flush()
            os.fsync(file.fileno())
    except OSError as fault:
        raise OutputError(out, f"can't be written: {fault.strerror}") from fault
    shots = f"{len(rows)} shot" + ("" if len(rows) == 1 else "s")
    say(f"{shots} in {shown(out)}, {in_bytes(sum(map(len, pieces)))}")


def _title(paths: Sequence[Path]) -> str:
    return ", ".join(path.resolve().name or str(path) for path in paths)
