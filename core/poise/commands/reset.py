"""`poise reset`: resets corrections to neutral, or sources to the default of the format; keeps the sidecars."""

from pathlib import Path

import click
import msgspec

from poise.commands.shared.options import PATHS, SIDECARS
from poise.commands.shared.output import Report, shown
from poise.commands.shared.shots import Found, found
from poise.correction import NEUTRAL, default_encoding
from poise.errors import FileError


@click.command("reset")
@PATHS
@click.option("--again", is_flag=True, help="Also reset corrections made by hand, and those of shots held or skipped.")
@click.option("--source", is_flag=True, help="Reset the source to the default of the format instead of the correction.")
@SIDECARS
def command(paths: tuple[Path, ...], again: bool, source: bool, sidecars: Path | None) -> None:
    """Reset corrections to neutral.

    The state of each shot becomes new; its sidecar stays, with encoding and note. A correction made by hand is kept,
    unless --again, and so is a shot that is held or skipped. With --source, only the source is reset, for instance
    after importing a .clf by mistake.

    Example: poise reset day

    Example: poise reset --again day/quay_02.tif

    Example: poise reset --source day/quay_02.tif
    """
    from poise.commands.shared.decisions import decide_and_print, reason_to_keep

    report = Report()
    reset = 0
    for one in found(paths, report, sidecars=sidecars):
        if one.sidecar is None:
            report.passed_over(one.path, "no sidecar")
            continue
        if not source and (reason := reason_to_keep(one, again)):
            report.passed_over(one.path, reason)
            continue
        reset += _source(one, report) if source else decide_and_print(one, NEUTRAL, report, by_hand=False, state="new")
    report.need(reset + len(report.faults), "nothing to do: every shot was passed over")
    report.end()


def _source(one: Found, report: Report) -> int:
    """Reset the source, and print the shot's name or report the fault; returns the number of shots reset, 1 or 0."""
    from poise.commands.shared.decisions import encode
    from poise.frames import probe

    try:
        header = probe(one.file)
        usual = default_encoding(header.linear, header.tags)
        present = (one.sidecar.encoding if one.sidecar else None) or usual
        encode(one, msgspec.structs.replace(present, source=usual.source, clf_gives=usual.clf_gives))
    except FileError as fault:
        report.fault(fault.path, fault.reason)
        return 0
    click.echo(f"{shown(one.path)}: {usual.source}, the default of its format")
    return 1
