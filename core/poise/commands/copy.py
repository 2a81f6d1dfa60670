"""`poise copy`: copies one shot's correction to others, whole or in part."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click
import msgspec

from poise.commands.shared.options import SIDECARS, VERSION
from poise.commands.shared.output import Report, shown
from poise.commands.shared.shots import Found, found
from poise.correction import Correction, Keyframe
from poise.errors import PoiseError, UsageError

if TYPE_CHECKING:
    from poise.sidecar.decision import Decision

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

    Keyframes are copied too, counted from the first frame; onto a still goes the correction of the judged frame. With
    --only, the frames that have a keyframe in either shot get one.

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
        decision = Decision.of(source.sidecar).under(version)
    except PoiseError as fault:
        raise UsageError(f"{shown(origin)}: {fault}") from None
    copied = 0
    for one in targets:
        if one.shot.sidecar_path.resolve() == source.shot.sidecar_path.resolve():
            if _identity(one) != _identity(source):
                both = f"{shown(source.path)} and {shown(one.path)}"
                raise UsageError(f"{both} would share a sidecar; name a folder that contains both")
            continue
        changed, keyframes = _merged(decision, source, one, only)
        copied += decide_and_print(one, changed, report, by_hand=True, keyframes=keyframes)
    report.need(copied + len(report.faults), "nothing to do: there is no shot other than FROM")
    report.end()


def _merged(
    decision: "Decision", source: Found, one: Found, only: Sequence[str]
) -> tuple[Correction, tuple[Keyframe, ...]]:
    """The correction and the keyframes of a shot that gets parts of a decision about another one."""
    from poise.sidecar.decision import Decision

    present = Decision.of(one.sidecar)
    later = one.shot.numbers[0] - source.shot.numbers[0] if one.shot.numbers and source.shot.numbers else 0

    def merged(old: Correction, new: Correction) -> Correction:
        return msgspec.structs.replace(old, **{part: getattr(new, part) for part in only})

    if not one.shot.numbers:
        return merged(present.correction, decision.decided(source.frame)), ()
    frames = {keyframe.frame + later for keyframe in decision.keyframes if keyframe.frame + later >= 0}
    if set(only) != set(PARTS):
        frames |= {keyframe.frame for keyframe in present.keyframes}
    keyframes = tuple(
        Keyframe(frame, merged(present.decided(frame), decision.decided(frame - later))) for frame in sorted(frames)
    )
    return merged(present.correction, decision.correction), keyframes


def _identity(one: Found) -> Path:
    return one.path.parent.resolve() / one.shot.name
