"""`poise reset`: corrections go back to neutral; the sidecars stay."""

from pathlib import Path

import click

from poise.commands.arguments import PATHS, SIDECARS
from poise.commands.output import Report, shown
from poise.commands.shots import found
from poise.correction import NEUTRAL
from poise.errors import FileError


@click.command("reset")
@PATHS
@SIDECARS
def command(paths: tuple[Path, ...], sidecars: Path | None) -> None:
    """Put corrections back to neutral.

    Each shot's state becomes new; its sidecar stays, with its encoding and note.

    Example: poise reset day/quay_02.tif
    """
    from poise.commands.decisions import decide

    report = Report()
    reset = 0
    for one in found(paths, report, sidecars=sidecars):
        if one.sidecar is None:
            report.passed_over(one.path, "no sidecar")
            continue
        try:
            decide(one, NEUTRAL, hand=False, state="new")
        except FileError as fault:
            report.fault(fault.path, fault.reason)
        else:
            reset += 1
            click.echo(shown(one.path))
    report.need(reset + len(report.faults), "nothing to do: no shot has a sidecar")
    report.end()
