"""Keyframes of the current sequence: set and removed at the frame on screen, and gone to."""

from msgspec.structs import replace

from poise.correction.keyframes import MOST_KEYFRAMES, not_interpolated, with_keyframe
from poise.errors import PoiseError
from poise_tui.session.session import Session
from poise_tui.session.shot_state import ShotState


def set_here(session: Session) -> str:
    """Makes the correction of the frame on screen a keyframe; returns a message.

    Raises:
        PoiseError: the shot is a still, or has too many keyframes.
    """
    slot, number = session.slot, _number(session.slot)
    decision = slot.decision
    keyframes = with_keyframe(decision.keyframes, number, decision.correction)
    if len(keyframes) > MOST_KEYFRAMES:
        raise PoiseError(f"a sequence has at most {MOST_KEYFRAMES} keyframes")
    if not session.decide(replace(decision, keyframes=keyframes, by_hand=True)):
        return f"frame {number} is a keyframe already"
    count = len(keyframes)
    said = f"keyframe at {number}, {count} in all" if count > 1 else f"keyframe at {number}: it holds for all frames"
    return "; ".join((said, *not_interpolated(keyframes)))


def remove(session: Session) -> str:
    """Removes the keyframe at the frame on screen; the last one becomes the correction of all frames.

    Raises:
        PoiseError: there is none.
    """
    slot, number = session.slot, _number(session.slot)
    decision = slot.decision
    keyframes = tuple(one for one in decision.keyframes if one.frame != number)
    if len(keyframes) == len(decision.keyframes):
        raise PoiseError(f"frame {number} is no keyframe{_where(slot)}")
    session.decide(replace(decision, keyframes=keyframes))
    return f"keyframe at {number} removed" + ("" if keyframes else ": its correction is that of all frames")


def to_next(slot: ShotState) -> int:
    """The number of frames to the next keyframe, after the last to the first.

    Raises:
        PoiseError: there is none, or the shot is a still.
    """
    number = _number(slot)
    frames = [one.frame for one in slot.decision.keyframes]
    if not frames:
        raise PoiseError("no keyframes yet")
    return slot.shot.nearest(next((frame for frame in frames if frame > number), frames[0])) - slot.frame


def _number(slot: ShotState) -> int:
    if not slot.shot.numbers:
        raise PoiseError("this shot is a still")
    return slot.shot.numbers[slot.frame]


def _where(slot: ShotState) -> str:
    frames = [one.frame for one in slot.decision.keyframes]
    return f"; keyframes are at {', '.join(map(str, frames[:8]))}" if frames else ", and there are none"
