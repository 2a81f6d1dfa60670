"""The frame of a sequence that its correction is judged by: chosen by the user, and kept in the sidecar."""

from pathlib import Path

from msgspec.structs import replace

from poise.errors import PoiseError
from poise_tui.session.session import Session
from poise_tui.session.shot_state import ShotState


def pin(session: Session) -> str:
    """Makes the frame on screen the judged frame; says what was done.

    Raises:
        PoiseError: the shot is a still.
    """
    slot = session.slot
    if not slot.shot.numbers:
        raise PoiseError("this shot is a still")
    number = slot.shot.numbers[slot.frame]
    if not session.decide(replace(slot.decision, judged=number)):
        return f"already judged by frame {number}"
    return f"judged by frame {number} from now on; undo takes it back"


def label(slot: ShotState, on_screen: Path | None = None) -> str:
    """Which frame of a sequence is on screen, and whether it is the judged frame; empty for a still.

    Another judged frame is named after the @, as in the list of shots.

    Args:
        on_screen: the frame that stays on screen while the current one is read.
    """
    numbers = slot.shot.numbers
    if not numbers:
        return ""
    here, wanted = numbers[slot.frame], slot.decision.judged
    if on_screen not in (None, slot.file) and on_screen in slot.shot.files:
        return f"frame {numbers[slot.shot.files.index(on_screen)]} > {here} of {numbers[0]}-{numbers[-1]}"
    where = f"frame {here} of {numbers[0]}-{numbers[-1]}"
    if slot.frame != slot.judged:
        return f"{where} @{numbers[slot.judged]}"
    return f"{where} @{wanted} gone" if wanted not in (None, here) else f"{where}, judged"


def to_next(slot: ShotState, direction: int) -> int:
    """The number of frames to the next frame that jumps, or, negative, to the previous one.

    Raises:
        PoiseError: there is none, or the shot is a still.
    """
    numbers = slot.shot.numbers
    if not numbers:
        raise PoiseError("this shot is a still")
    if not slot.abrupt:
        raise PoiseError("no frame jumps among those read so far")
    here = numbers[slot.frame]
    ahead = [number for number in slot.abrupt if (number - here) * direction > 0]
    if not ahead:
        raise PoiseError("no further frame jumps" if direction > 0 else "no earlier frame jumps")
    return slot.shot.nearest(min(ahead, key=lambda number: abs(number - here))) - slot.frame
