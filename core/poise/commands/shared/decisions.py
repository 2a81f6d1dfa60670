"""Saves the decision about a shot: into the sidecar that was read, or into a new one."""

import os

import click
import msgspec

from poise.commands.shared.output import Report, shown
from poise.commands.shared.shots import Found
from poise.correction import Correction, Encoding, Keyframe
from poise.correction.keyframes import with_keyframe
from poise.correction.steady import Steady
from poise.errors import FileError
from poise.sidecar import ShotInfo, Sidecar, State, save


def decide_and_print(
    one: Found,
    correction: Correction,
    report: Report,
    *,
    by_hand: bool,
    state: State | None = None,
    keyframes: tuple[Keyframe, ...] = (),
) -> int:
    """As `decide`, and print the shot's name or report the fault; returns the number of shots saved, 1 or 0."""
    try:
        decide(one, correction, by_hand=by_hand, state=state, keyframes=keyframes)
    except FileError as fault:
        report.fault(fault.path, fault.reason)
        return 0
    click.echo(shown(one.path))
    return 1


def decide(
    one: Found,
    correction: Correction,
    *,
    by_hand: bool,
    state: State | None = None,
    certainty: float | None = None,
    at: int | None = None,
    keyframes: tuple[Keyframe, ...] = (),
) -> Sidecar:
    """Save a shot's correction; everything else in its sidecar is kept.

    Args:
        at: the frame whose keyframe the correction becomes; None for a correction of all frames.
        keyframes: replace those of the shot, unless the correction becomes one.
        by_hand: whether a person made this decision.
        state: the new state; None keeps it.
        certainty: the probability that auto found the light; None if the correction is not from auto.

    Raises:
        FileError: the picture's header or the sidecar can't be read, or the sidecar has changed since it was read.
    """
    sidecar = _current_sidecar(one)
    if at is not None:
        keyframes, correction = with_keyframe(sidecar.keyframes, at, correction), sidecar.correction
    found = {"correction": correction, "keyframes": keyframes, "by_hand": by_hand, "certainty": certainty}
    changed = msgspec.structs.replace(sidecar, state=state or sidecar.state, **found)
    if state == "new":  # as if nothing had been decided
        changed = msgspec.structs.replace(changed, steady=None)
    return save(one.shot.sidecar_path, changed, one.sidecar)


def encode(one: Found, encoding: Encoding) -> Sidecar:
    """Save a shot's encoding; everything else in its sidecar is kept.

    Raises:
        FileError: as `decide`.
    """
    return save(one.shot.sidecar_path, msgspec.structs.replace(_current_sidecar(one), encoding=encoding), one.sidecar)


def save_steady(one: Found, steady: Steady | None) -> Sidecar:
    """Save a shot's steady values; everything else in its sidecar is kept.

    Raises:
        FileError: as `decide`.
    """
    return save(one.shot.sidecar_path, msgspec.structs.replace(_current_sidecar(one), steady=steady), one.sidecar)


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


def reason_to_keep(one: Found, again: bool, at: int | None = None) -> str | None:
    """Why a command must keep a shot's decision; None if it may replace it.

    Args:
        at: the frame number of the keyframe that it would set; None to replace the whole correction.
    """
    sidecar = one.sidecar
    if sidecar is None or again:
        return None
    if sidecar.state in ("held", "skipped"):
        return f"{sidecar.state}; replace it with --again"
    if sidecar.keyframes and at is None:
        return "it has keyframes; replace them with --again"
    if sidecar.keyframes and at not in {keyframe.frame for keyframe in sidecar.keyframes}:
        return None
    if one.corrected_by_hand:
        return "its correction was made by hand; replace it with --again"
    return None
