"""Actions that move the cursor on the picture, and that make the patch under it grey."""

from collections.abc import Callable

from poise_tui.actions.registry import Action, Desk, then
from poise_tui.desk import Mode
from poise_tui.edits import picking

_HERE: tuple[Mode, ...] = ("pick", "matte")
_PICK: tuple[Mode, ...] = ("pick",)


def _move(across: int, down: int) -> Callable[[Desk], None]:
    return lambda desk: then(desk, lambda: picking.move(desk.session, desk.picture, across, down))


def _patch(desk: Desk, by: int) -> None:
    if not picking.resize(desk.session, by):
        desk.say("the smallest patch" if by < 0 else "the largest patch")
    desk.changed()


def _pick(how: picking.How) -> Callable[[Desk], None]:
    return lambda desk: desk.say(picking.pick(desk.session, desk.picture, how))


CURSOR: tuple[Action, ...] = (
    Action("cursor.up", "cursor", "cursor up, by the step", _move(0, -1), _HERE),
    Action("cursor.down", "cursor", "cursor down", _move(0, +1), _HERE),
    Action("cursor.left", "cursor", "cursor left", _move(-1, 0), _HERE),
    Action("cursor.right", "cursor", "cursor right", _move(+1, 0), _HERE),
    Action("patch.smaller", "cursor", "average a smaller patch", lambda desk: _patch(desk, -1), _HERE),
    Action("patch.larger", "cursor", "average a larger patch", lambda desk: _patch(desk, +1), _HERE),
    Action("pick.light", "picking a grey", "make the patch grey by warmth and magenta", _pick("light"), _PICK),
    Action("pick.zone", "picking a grey", "make the patch grey by balance, in its zone", _pick("zone"), _PICK),
)
