"""`poise reset`: corrections go back to neutral; the sidecars stay."""

from pathlib import Path

import click

from poise.commands.arguments import PATHS, SIDECARS
from poise.commands.output import Report
from poise.commands.shots import found
from poise.correction import NEUTRAL


@click.command("reset")
@PATHS
@SIDECARS
def command(paths: tuple[Path, ...], sidecars: Path | None) -> None:
    """Put corrections back to neutral.

    Each shot's state becomes new; its sidecar stays, with its encoding and note.

    Example: poise reset day/quay_02.tif
    """
    from poise.commands.decisions import tell

    report = Report()
    reset = 0
    for one in found(paths, report, sidecars=sidecars):
        if one.sidecar is None:
            report.passed_over(one.path, "no sidecar")
            continue
        reset += tell(one, NEUTRAL, report, hand=False, state="new")
    report.need(reset + len(report.faults), "nothing to do: no shot has a sidecar")
    report.end()
