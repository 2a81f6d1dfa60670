"""`poise report`: a contact sheet of shots as one HTML file, and the record that proves what it was about."""

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
    from poise.report.look import Seen


@click.command("report")
@PATHS
@click.option("--out", metavar="FILE", type=click.Path(path_type=Path), help="The HTML file to write.")
@click.option("--json", "as_json", is_flag=True, help="Print the record as JSON.")
@click.option(
    "--outputs",
    metavar="DIR",
    type=click.Path(exists=True, file_okay=False, path_type=Path),
    help="The folder that apply wrote to: the record then has its outputs.",
)
@click.option("--limits", "wanted", default="baseline", metavar="SET", help="What faults are, as poise check has them.")
@click.option("--title", metavar="TEXT", help="Over the sheet; the name of the folder when not given.")
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
    """Write a contact sheet of shots, and a record that proves what it is about.

    The sheet is one HTML file that needs neither a server nor a network: the reel as a plot, and for each shot its
    picture, waveform, parade and readings before and after, its correction in words and numbers, note and state. It
    can be searched, filtered, sorted and printed.

    The record, which the sheet holds as well, and --json prints, has the hash of every source, decision and output.

    Of a sequence, the frame is shown that it is judged on; with --frames all or --frames 8, all frames or every 8th
    are read as well, and it says how far they drift.

    Example: poise report day --out day.html --outputs balanced
    """
    from poise.delivery.limits import load
    from poise.report.gather import gather, rows
    from poise.report.record import record

    if out is None and not as_json:
        raise UsageError("nothing to write: name a file by --out FILE.html, or print the record by --json")
    if out is not None:
        _may_write(out)
    limits = load(wanted)
    subjects = gather(paths, sidecars)
    _applied_to(outputs)
    report = Report()
    seen = _seen(subjects, limits, workers or os.cpu_count() or 1, frames or 0)
    listed = rows(subjects, seen, limits, outputs)
    for one in listed:
        for reason in one.trouble:
            report.fault(one.subject.path, reason)
    now = datetime.datetime.now(datetime.UTC)
    folder = ", ".join(one_line(path) for path in paths)
    found = record(listed, folder, now.strftime("%Y-%m-%dT%H:%M:%SZ"))
    if out is not None:
        _write(out, listed, title or _title(paths), folder, now, found)
    if as_json:
        data(found)
    report.end()


def _may_write(out: Path) -> None:
    """Refuses a target before anything is done; only HTML is written, so it is no source and no sidecar.

    Raises:
        UsageError: it is a folder or something else that is no file, has another ending, or its folder is missing.
    """
    if out.suffix.lower() not in (".html", ".htm"):
        raise UsageError(f"{one_line(out)}: a sheet is an HTML file; give it a name that ends in .html")
    if os.path.lexists(out) and not (out.is_file() or out.is_symlink()):
        raise UsageError(f"{one_line(out)}: this is no file; choose another name")
    if not out.parent.is_dir():
        raise UsageError(f"{one_line(out.parent)}: no such folder; make it first")


def _applied_to(outputs: Path | None) -> None:
    """Refuses a folder of outputs that holds none.

    Raises:
        UsageError: nothing was applied to it.
    """
    from poise.frames.scan import MANIFEST

    if outputs is not None and not (outputs / MANIFEST).is_file():
        raise UsageError(f"{one_line(outputs)}: no {MANIFEST} in it; name the folder that poise apply wrote to")


def _seen(subjects: "Sequence[Subject]", limits: "Limits", workers: int, every: int) -> "dict[int, Seen | str]":
    from poise.report.gather import looks

    total = sum(one.shot is not None for one in subjects)
    return dict(with_progress(looks(subjects, limits, workers, every), total, "shots", "report"))


def _write(
    out: Path, rows: "Sequence[Row]", title: str, folder: str, now: datetime.datetime, found: dict[str, Any]
) -> None:
    """Writes the sheet, whole or not at all, and says how large it is.

    Raises:
        OutputError: it can't be written.
    """
    from poise.report.card import cards
    from poise.report.sheet import About, in_bytes, render

    about = About(one_line(title), folder, now.strftime("%-d %B %Y, %H:%M UTC"))
    pieces = render(cards(rows), about, found)
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
