"""Actions in drift mode: go to the frames that jump."""

from collections.abc import Callable

from poise_tui.actions.registry import Action, Desk
from poise_tui.edits import judged_frame


def _jump(direction: int) -> Callable[[Desk], None]:
    return lambda desk: desk.frame(judged_frame.to_next(desk.session.slot, direction))


DRIFT: tuple[Action, ...] = (
    Action("run.next", "over the frames", "next frame that jumps", _jump(+1), ("drift",)),
    Action("run.previous", "over the frames", "previous frame that jumps", _jump(-1), ("drift",)),
)
