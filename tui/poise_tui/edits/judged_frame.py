"""The frame of a sequence that its correction is judged on: pinned by the user, and kept in the sidecar."""

from pathlib import Path

from msgspec.structs import replace

from poise.errors import PoiseError
from poise_tui.session.session import Session
from poise_tui.session.shot_state import Slot


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


def told(slot: Slot, seen: Path | None = None) -> str:
    """Which frame of a sequence is on screen, and whether the shot is judged on it; empty for a still.

    Where it is judged on another, that stands behind the @, as in the list of shots.

    Args:
        seen: the frame that is still on screen while the one in hand is read.
    """
    numbers = slot.shot.numbers
    if not numbers:
        return ""
    here, wanted = numbers[slot.frame], slot.decision.judged
    if seen not in (None, slot.file) and seen in slot.shot.files:
        return f"frame {numbers[slot.shot.files.index(seen)]} > {here} of {numbers[0]}-{numbers[-1]}"
    where = f"frame {here} of {numbers[0]}-{numbers[-1]}"
    if slot.frame != slot.judged:
        return f"{where} @{numbers[slot.judged]}"
    return f"{where} @{wanted} gone" if wanted not in (None, here) else f"{where}, judged"


def to_next(slot: Slot, direction: int) -> int:
    """How many frames it is to the next one that stands out, or back to the one before.

    Raises:
        PoiseError: there is none, or the shot is a still.
    """
    numbers = slot.shot.numbers
    if not numbers:
        raise PoiseError("this shot is a still")
    if not slot.standing_out:
        raise PoiseError("no frame jumps, as far as they were read")
    here = numbers[slot.frame]
    ahead = [number for number in slot.standing_out if (number - here) * direction > 0]
    if not ahead:
        raise PoiseError("no further frame jumps" if direction > 0 else "no earlier frame jumps")
    return slot.shot.nearest(min(ahead, key=lambda number: abs(number - here))) - slot.frame
