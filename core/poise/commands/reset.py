"""`poise reset`: corrections go back to neutral, or sources to those of the formats; the sidecars stay."""

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
@click.option("--source", is_flag=True, help="Put the source back to that of the format instead; corrections stay.")
@SIDECARS
def command(paths: tuple[Path, ...], source: bool, sidecars: Path | None) -> None:
    """Put corrections back to neutral.

    Each shot's state becomes new; its sidecar stays, with its encoding and note. With --source, it is the
    source that goes back, as after the import of a .clf that was not meant, and all else stays.

    Example: poise reset day/quay_02.tif

    Example: poise reset --source day/quay_02.tif
    """
    from poise.commands.shared.decisions import tell

    report = Report()
    reset = 0
    for one in found(paths, report, sidecars=sidecars):
        if one.sidecar is None:
            report.passed_over(one.path, "no sidecar")
            continue
        reset += _source(one, report) if source else tell(one, NEUTRAL, report, hand=False, state="new")
    report.need(reset + len(report.faults), "nothing to do: no shot has a sidecar")
    report.end()


def _source(one: Found, report: Report) -> int:
    """Puts the source back, and prints the shot's name or reports why not; how many were put back, 1 or 0."""
    from poise.commands.shared.decisions import encode
    from poise.frames import probe

    try:
        usual = default_encoding(probe(one.file).linear)
        present = (one.sidecar.encoding if one.sidecar else None) or usual
        encode(one, msgspec.structs.replace(present, source=usual.source, clf_gives=usual.clf_gives))
    except FileError as fault:
        report.fault(fault.path, fault.reason)
        return 0
    click.echo(f"{shown(one.path)}: {usual.source}, as its format says")
    return 1
