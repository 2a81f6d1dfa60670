"""Saving a decision about a shot: into the sidecar that was read, or a new one."""

import click
import msgspec

from poise.commands.shared.output import Report, shown
from poise.commands.shared.shots import Found
from poise.correction import Correction, Encoding
from poise.errors import FileError
from poise.sidecar import ShotInfo, Sidecar, State, save


def tell(one: Found, correction: Correction, report: Report, *, hand: bool, state: State | None = None) -> int:
    """Decides, and prints the shot's name or reports why not; how many shots were decided, 1 or 0."""
    try:
        decide(one, correction, hand=hand, state=state)
    except FileError as fault:
        report.fault(fault.path, fault.reason)
        return 0
    click.echo(shown(one.path))
    return 1


def decide(one: Found, correction: Correction, *, hand: bool, state: State | None = None) -> Sidecar:
    """Writes a shot's correction; all else that its sidecar holds is kept.

    Args:
        hand: whether a person made this decision.
        state: the new state; None keeps it.

    Raises:
        FileError: the picture's header or the sidecar can't be read, or the sidecar was changed meanwhile.
    """
    sidecar = _present(one)
    changed = msgspec.structs.replace(sidecar, correction=correction, hand=hand, state=state or sidecar.state)
    return save(one.shot.sidecar_path, changed, one.sidecar)


def encode(one: Found, encoding: Encoding) -> Sidecar:
    """Writes a shot's encoding; all else that its sidecar holds is kept.

    Raises:
        FileError: as `decide`.
    """
    return save(one.shot.sidecar_path, msgspec.structs.replace(_present(one), encoding=encoding), one.sidecar)


def _present(one: Found) -> Sidecar:
    if one.sidecar is not None:
        return one.sidecar
    from poise.frames import probe

    header = probe(one.file)
    return Sidecar(shot=ShotInfo(one.shot.name, header.width, header.height, one.shot.frame_range))


def reason_to_keep(one: Found, again: bool) -> str | None:
    """Why a shot's decision stays as it is, or None."""
    sidecar = one.sidecar
    if sidecar is None or again:
        return None
    if sidecar.state in ("held", "skipped"):
        return f"{sidecar.state}; replace it with --again"
    if one.by_hand:
        return "its correction was made by hand; replace it with --again"
    return None
