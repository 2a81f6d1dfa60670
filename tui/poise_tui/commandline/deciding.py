"""Note, state and sidecar of the current shot."""

from pathlib import Path

from msgspec.structs import replace

from poise.errors import PoiseError
from poise_tui.commandline.command import Command, Console

STATES = ("new", "balanced", "held", "skipped")


def _note(desk: Console, rest: str) -> None:
    session = desk.session
    session.decide(replace(session.slot.decision, note=rest[:4096]))


def _state(desk: Console, rest: str) -> None:
    if rest not in STATES:
        raise PoiseError("a state is new, balanced, held or skipped")
    desk.session.state(rest)  # type: ignore[arg-type]


def _mine(desk: Console, rest: str) -> None:
    if not desk.session.slot.fault:
        raise PoiseError("this shot's sidecar has no fault to settle")
    aside = desk.session.keep_mine(desk.session.index)
    fault = desk.session.slot.fault
    if fault:
        raise PoiseError(f"{fault.reason}; the previous version is in {aside.name}" if aside else fault.reason)
    desk.say(f"saved; the previous version is in {aside.name}" if aside else "saved")


def _theirs(desk: Console, rest: str) -> None:
    taken = desk.session.take_theirs(desk.session.index)
    fault = desk.session.slot.fault
    if fault:
        raise PoiseError(str(fault))
    desk.say("read from the sidecar; undo goes back to yours" if taken else "the sidecar holds nothing new")


def _sidecars(desk: Console, rest: str) -> None:
    if not rest:
        raise PoiseError("name a folder for the sidecars")
    try:
        folder = Path(rest).expanduser()
    except RuntimeError:
        raise PoiseError(f"{rest}: no such home folder") from None
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        raise PoiseError(f"{folder}: {fault.strerror}") from None
    desk.session.move_sidecars(folder)
    desk.say(f"sidecars are kept in {folder}; pass the same folder to the commands with --sidecars")


DECIDING: tuple[Command, ...] = (
    Command("note TEXT", "a note on this shot", _note),
    Command("state STATE", "new, balanced, held or skipped, and stay on the shot", _state, lambda desk: STATES),
    Command("mine", "keep your version, and set the one in the sidecar aside", _mine),
    Command("theirs", "take the version in the sidecar", _theirs),
    Command("sidecars FOLDER", "keep sidecars in another folder", _sidecars),
)
