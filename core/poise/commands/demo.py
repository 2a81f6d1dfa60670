"""`poise demo`: copies an invented reel, corrects it automatically, applies that, and compares it with the truth."""

import json
import os
import shlex
import shutil
from pathlib import Path
from typing import Any

import click

from poise.batch.plan import Target
from poise.batch.pool import LIMIT
from poise.batch.run import here
from poise.commands.apply import applied, planning
from poise.commands.auto import starting_point
from poise.commands.shared.decisions import reason_to_keep
from poise.commands.shared.demo_source import TRUTH, demo_folder
from poise.commands.shared.output import Report, say, shown
from poise.commands.shared.shots import Found, encoding_of, found, readings
from poise.commands.shared.table import level, table
from poise.errors import OutputError, PoiseError
from poise.frames.clip_frame import ClipFrame
from poise.frames.codecs import EXTENSIONS
from poise.invocation import program_name

HEAD = ("file", "", "black", "white", "spread", "cast", "CIEDE2000")
OUTPUTS = "balanced"


@click.command("demo")
@click.argument("folder", metavar="[DIR]", default=Path("poise_demo"), type=click.Path(path_type=Path))
def command(folder: Path) -> None:
    """Balance an invented reel of a harbour town, and compare it with the truth.

    Copies the demo frames to DIR (default poise_demo), corrects them automatically, takes the flicker out of the
    sequence, writes the result to DIR/balanced, and prints how much flicker is left, and a table: black, white and
    spread at the median in per cent, the cast, and the mean CIEDE2000 of greys whose true values are known.

    Example: poise demo /tmp/harbour
    """
    report = Report()
    truth = copied(folder)
    say(f"copied the demo reel to {shown(folder)}")
    for one in found([folder], report):
        if reason := reason_to_keep(one, again=False):
            report.passed_over(one.path, reason)
            continue
        try:
            starting_point(one)
        except PoiseError as fault:
            report.fault(one.path, str(fault))
    shots = [_steadied(one, report) for one in found([folder], report)]
    planned = planning(shots, Target(folder / OUTPUTS))
    applied(planned, here(min(os.cpu_count() or 1, len(planned.jobs) or 1)), report)
    rows, errors = [], []
    for one in shots:
        greys = truth.get(one.shot.name, truth.get(one.shot.first.name, {})).get("greys", [])
        try:
            before = _line(one, one.file, greys)
            after = _line(one, _written(one, folder / OUTPUTS), greys)
        except PoiseError as fault:
            report.fault(one.path, str(fault))
            continue
        rows += [[shown(one.shot.name), "before", *before[0]], ["", "after", *after[0]]]
        errors += [(before[1], after[1])] if greys else []
    click.echo(table(HEAD, rows))
    if errors:
        means = [sum(column) / len(errors) for column in zip(*errors, strict=True)]
        click.echo(f"mean CIEDE2000 of known greys: {means[0]:.2f} before, {means[1]:.2f} after")
    say(f"balanced frames are in {shown(folder / OUTPUTS)}; next, try:")
    first, reel = (shlex.quote(str(path)) for path in (folder / shots[0].shot.first.name, folder))
    for line in (f"show {first}", f"show --corrected {first}", f"apply {reel} --out balanced --dry-run"):
        say(f"  {program_name()} {line}")
    report.end()


def _steadied(one: Found, report: Report) -> Found:
    """A shot; of a sequence that flickers the flicker is taken out, and what is left of it is printed."""
    from poise.commands.shared.decisions import save_steady
    from poise.commands.steadying import Wish, steadied_run

    if not one.shot.numbers or one.decision is None:
        return one
    try:
        result = steadied_run(one, one.decision.encoding, Wish(25, 1, False), os.cpu_count() or 1, LIMIT)
        if not (result.before and result.after and result.after.rms < result.before.rms / 2):
            return one
        saved = save_steady(one, result.steady)
    except PoiseError as fault:
        report.fault(one.path, str(fault))
        return one
    figures = f"flicker {result.before.rms:.2f} -> {result.after.rms:.2f} % rms"
    click.echo(f"{shown(one.shot.name)}: {figures} over {len(one.shot.files)} frames")
    return Found(one.shot, saved)


def _written(one: Found, out: Path) -> Path:
    """The output of the judged frame of a shot; in a movie, the same frame."""
    path = out / one.shot.relative(one.file)
    return ClipFrame.of(path, one.file.number) if isinstance(one.file, ClipFrame) else path


def copied(folder: Path) -> dict[str, Any]:
    """Copy the demo reel, and return the truth about its shots; sidecars in the folder are kept.

    Raises:
        PoiseError: the reel is not installed, or the folder can't be written.
    """
    source = demo_folder()
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for file in sorted(source.iterdir()):
            if file.suffix in EXTENSIONS:
                shutil.copyfile(file, folder / file.name)
        shots: dict[str, Any] = json.loads((source / TRUTH).read_text(encoding="utf-8"))["shots"]
    except OSError as fault:
        raise OutputError(folder, f"the demo reel can't be copied here: {fault.strerror}") from fault
    return shots


def _line(one: Found, file: Path, greys: list[dict[str, Any]]) -> tuple[list[str], float]:
    """The table cells of one picture, before or after, and its mean CIEDE2000."""
    from poise.commands.shared.truth import grey_error
    from poise.frames import read

    frame = read(file)
    result = readings(frame, encoding_of(one.sidecar, frame, one.folder))
    error = grey_error(frame, greys) if greys else 0.0
    cast = f"{result.cast.hue} {level(result.cast.amount)}"
    figures = [level(result.luma.black), level(result.luma.white), level(result.spread.middle), cast]
    return [*figures, f"{error:.2f}" if greys else "-"], error
