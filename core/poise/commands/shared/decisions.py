"""Saves the decision about a shot: into the sidecar that was read, or into a new one."""

import os

import click
import msgspec

from poise.commands.shared.output import Report, shown
from poise.commands.shared.shots import Found
from poise.correction import Correction, Encoding
from poise.errors import FileError
from poise.sidecar import ShotInfo, Sidecar, State, save


def decide_and_print(
    one: Found, correction: Correction, report: Report, *, by_hand: bool, state: State | None = None
) -> int:
    """Save a correction, and print the shot's name or report the fault; returns the number of shots saved, 1 or 0."""
    try:
        decide(one, correction, by_hand=by_hand, state=state)
    except FileError as fault:
        report.fault(fault.path, fault.reason)
        return 0
    click.echo(shown(one.path))
    return 1


def decide(
    one: Found, correction: Correction, *, by_hand: bool, state: State | None = None, certainty: float | None = None
) -> Sidecar:
    """Save a shot's correction; everything else in its sidecar is kept.

    Args:
        by_hand: whether a person made this decision.
        state: the new state; None keeps it.
        certainty: the probability that auto found the light; None if the correction is not from auto.

    Raises:
        FileError: the picture's header or the sidecar can't be read, or the sidecar has changed since it was read.
    """
    sidecar = _current_sidecar(one)
    found = {"correction": correction, "by_hand": by_hand, "certainty": certainty}
    changed = msgspec.structs.replace(sidecar, state=state or sidecar.state, **found)
    return save(one.shot.sidecar_path, changed, one.sidecar)


def encode(one: Found, encoding: Encoding) -> Sidecar:
    """Save a shot's encoding; everything else in its sidecar is kept.

    Raises:
        FileError: as `decide`.
    """
    return save(one.shot.sidecar_path, msgspec.structs.replace(_current_sidecar(one), encoding=encoding), one.sidecar)


def within(one: Found) -> None:
    """Refuse a shot whose sidecar would leave its folder through a link, as `apply` refuses such an output.

    Raises:
        FileError: the sidecar would leave the folder.
    """
    root = os.path.realpath(one.shot.sidecars or one.shot.root)
    if os.path.commonpath([os.path.realpath(one.shot.sidecar_path.parent), root]) != root:
        raise FileError(one.path, f"its sidecar would leave {root} through a link; name the folder behind it as PATH")


def _current_sidecar(one: Found) -> Sidecar:
    within(one)
    if one.sidecar is not None:
        return one.sidecar
    from poise.frames import probe

    header = probe(one.file)
    return Sidecar(shot=ShotInfo.of(one.shot, header.width, header.height))


def reason_to_keep(one: Found, again: bool) -> str | None:
    """Why a command must keep a shot's decision; None if it may replace it."""
    sidecar = one.sidecar
    if sidecar is None or again:
        return None
    if sidecar.state in ("held", "skipped"):
        return f"{sidecar.state}; replace it with --again"
    if one.corrected_by_hand:
        return "its correction was made by hand; replace it with --again"
    return None
