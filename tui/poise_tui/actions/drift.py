"""Actions in drift mode: go to the frames that jump, keyframes, and steady."""

from collections.abc import Callable

from poise_tui.actions.registry import Action, Desk, said
from poise_tui.edits import judged_frame, keyframes


def _jump(direction: int) -> Callable[[Desk], None]:
    return lambda desk: desk.frame(judged_frame.to_next(desk.session.slot, direction))


def _to_keyframe(desk: Desk) -> None:
    desk.frame(keyframes.to_next(desk.session.slot))


DRIFT: tuple[Action, ...] = (
    Action("run.next", "over the frames", "next frame that jumps", _jump(+1), ("drift",)),
    Action("run.previous", "over the frames", "previous frame that jumps", _jump(-1), ("drift",)),
    Action("keyframe.set", "over the frames", "make this frame a keyframe", said(keyframes.set_here), ("drift",)),
    Action("keyframe.remove", "over the frames", "remove this keyframe", said(keyframes.remove), ("drift",)),
    Action("keyframe.next", "over the frames", "next keyframe", _to_keyframe, ("drift",)),
    Action("steady", "over the frames", "take flicker out, or put it back", lambda desk: desk.steady(), ("drift",)),
)
