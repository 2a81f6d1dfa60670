"""Actions that compare: the reference, matching to it, and the wipe."""

from poise.errors import PoiseError
from poise_tui.actions.registry import Action, Desk, said
from poise_tui.compare import reference, wipe


def _take(desk: Desk) -> None:
    assert desk.picture  # raises where it can't be read: such a shot is no reference
    desk.say(reference.take(desk.session))


def _match(desk: Desk) -> None:
    assert desk.picture
    desk.match(1.0)


def _move(desk: Desk, by: int) -> None:
    if desk.session.hand.wipe is None:
        raise PoiseError("there is no wipe to move")
    if not wipe.move(desk.session, by):
        desk.say("the wipe is at the edge")
    desk.changed()


COMPARE: tuple[Action, ...] = (
    Action("match", "compare", "match the shot to the reference: slope, offset, power, saturation", _match),
    Action("reference", "compare", "make the shot the reference, or drop it", _take),
    Action("wipe", "compare", "wipe: before, reference, neighbour, version, none", said(wipe.cycle), ("balance",)),
    Action("wipe.left", "compare", "move the wipe to the left", lambda desk: _move(desk, -1), ("balance",)),
    Action("wipe.right", "compare", "move the wipe to the right", lambda desk: _move(desk, +1), ("balance",)),
)
