"""Note, state and sidecar of the shot in hand."""

from pathlib import Path

from msgspec.structs import replace

from poise.errors import PoiseError
from poise_tui.commandline.command import Command, Console


def _note(desk: Console, rest: str) -> None:
    session = desk.session
    session.decide(replace(session.slot.decision, note=rest[:4096]))


def _state(desk: Console, rest: str) -> None:
    if rest not in ("new", "balanced", "held", "skipped"):
        raise PoiseError("a state is new, balanced, held or skipped")
    desk.session.state(rest)  # type: ignore[arg-type]


def _mine(desk: Console, rest: str) -> None:
    if not desk.session.slot.fault:
        raise PoiseError("nothing is in the way of this shot's sidecar")
    aside = desk.session.keep_mine(desk.session.index)
    fault = desk.session.slot.fault
    if fault:
        raise PoiseError(f"{fault.reason}; what was there is in {aside.name}" if aside else fault.reason)
    desk.say(f"saved; what was there is in {aside.name}" if aside else "saved")


def _theirs(desk: Console, rest: str) -> None:
    taken = desk.session.take_theirs(desk.session.index)
    fault = desk.session.slot.fault
    if fault:
        raise PoiseError(str(fault))
    desk.say("taken over from the sidecar; undo goes back to yours" if taken else "the sidecar holds nothing new")


def _sidecars(desk: Console, rest: str) -> None:
    if not rest:
        raise PoiseError("name a folder for the sidecars")
    try:
        folder = Path(rest).expanduser()
    except RuntimeError:
        raise PoiseError(f"{rest}: there is no such home folder") from None
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        raise PoiseError(f"{folder}: {fault.strerror}") from None
    desk.session.move_sidecars(folder)
    desk.say(f"sidecars are kept in {folder}; give the same to the commands by --sidecars")


DECIDING: tuple[Command, ...] = (
    Command("note TEXT", "a note on this shot", _note),
    Command("state STATE", "new, balanced, held or skipped, without going on", _state),
    Command("mine", "keep your version, where another stands in the sidecar", _mine),
    Command("theirs", "take the version that stands in the sidecar", _theirs),
    Command("sidecars FOLDER", "keep sidecars in another folder", _sidecars),
)
