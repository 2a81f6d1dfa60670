"""`poise copy`: copies one shot's correction to others, whole or in part."""

from pathlib import Path

import click
import msgspec

from poise.commands.shared.options import SIDECARS, VERSION
from poise.commands.shared.output import Report, shown
from poise.commands.shared.shots import Found, found
from poise.correction import NEUTRAL, Correction
from poise.errors import PoiseError, UsageError

PARTS = Correction.__struct_fields__


def _parts(context: click.Context, option: click.Parameter, value: str | None) -> tuple[str, ...]:
    names = tuple(name.strip() for name in value.split(",")) if value is not None else PARTS
    for name in names:
        if name not in PARTS:
            raise click.BadParameter(f"there is no part {name!r}; use {','.join(PARTS)}")
    return names


@click.command("copy")
@click.argument("origin", metavar="FROM", type=click.Path(path_type=Path))
@click.argument("paths", metavar="TO...", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--only", metavar="PARTS", callback=_parts, help=f"Copy only some of {','.join(PARTS)}. Default: all.")
@VERSION
@SIDECARS
def command(origin: Path, paths: tuple[Path, ...], only: tuple[str, ...], version: str, sidecars: Path | None) -> None:
    """Copy one shot's correction to others.

    Example: poise copy day/quay_02.tif day/quay_03.tif --only light,balance

    Example: poise copy day/quay_02.tif day --only mattes,curves

    Example: poise copy day/quay_02.tif day/quay_03.tif --version cooler
    """
    from poise.commands.shared.decisions import decide_and_print
    from poise.sidecar.decision import Decision

    report = Report()
    sources = found([origin], report, sidecars=sidecars)
    targets = found(paths, report, sidecars=sidecars)
    # paths in a folder of sidecars are relative to the paths named, so FROM is looked up among TO
    source = next((one for one in targets if _identity(one) == _identity(sources[0])), sources[0]) if sources else None
    if source is None or len(sources) != 1 or source.sidecar is None:
        raise UsageError(f"{shown(origin)}: FROM must be one shot that has a sidecar")
    try:
        correction = Decision.of(source.sidecar).under(version).correction
    except PoiseError as fault:
        raise UsageError(f"{shown(origin)}: {fault}") from None
    copied = 0
    for one in targets:
        if one.shot.sidecar_path.resolve() == source.shot.sidecar_path.resolve():
            if _identity(one) != _identity(source):
                both = f"{shown(source.path)} and {shown(one.path)}"
                raise UsageError(f"{both} would share a sidecar; name a folder that contains both")
            continue
        present = one.sidecar.correction if one.sidecar else NEUTRAL
        changed = msgspec.structs.replace(present, **{part: getattr(correction, part) for part in only})
        copied += decide_and_print(one, changed, report, by_hand=True)
    report.need(copied + len(report.faults), "nothing to do: there is no shot other than FROM")
    report.end()


def _identity(one: Found) -> Path:
    return one.path.parent.resolve() / one.shot.name
