"""The frame of a sequence that its correction is judged on: pinned by the user, and kept in the sidecar."""

from msgspec.structs import replace

from poise.errors import PoiseError
from poise_tui.session import Session
from poise_tui.slot import Slot


def pin(session: Session) -> str:
    """Makes the frame on screen the one that the shot is judged on; says what was done.

    Raises:
        PoiseError: the shot is a still.
    """
    slot = session.slot
    if not slot.shot.numbers:
        raise PoiseError("this shot is a still")
    number = slot.shot.numbers[slot.frame]
    if not session.decide(replace(slot.decision, judged=number)):
        return f"judged on frame {number} already"
    return f"judged on frame {number} from now on; undo takes it back"


def told(slot: Slot) -> str:
    """Which frame of a sequence is on screen, and whether the shot is judged on it; empty for a still.

    Where it is judged on another, that stands behind the @, as in the list of shots.
    """
    numbers = slot.shot.numbers
    if not numbers:
        return ""
    here, wanted = numbers[slot.frame], slot.decision.judged
    where = f"frame {here} of {numbers[0]}-{numbers[-1]}"
    if slot.frame != slot.judged:
        return f"{where} @{numbers[slot.judged]}"
    return f"{where} @{wanted} gone" if wanted not in (None, here) else f"{where}, judged"
