"""Actions on mattes: keying a colour, shaping the matte, and choosing among the mattes of a shot."""

from collections.abc import Callable

from poise_tui.actions.registry import Action, Desk, said, then
from poise_tui.desk import Shown
from poise_tui.desk.matte import place_of
from poise_tui.edits import keying

_SHOWN: dict[Shown, str] = {
    "result": "the picture shows the result",
    "matte": "the picture shows the matte alone, white where it is full",
    "keyed": "the picture shows the keyed colour, all else grey",
}


def _show(shown: Shown) -> Callable[[Desk], None]:
    return lambda desk: then(desk, lambda: desk.session.hold(shown=shown))


def _invert_view(desk: Desk) -> None:
    then(desk, lambda: desk.session.hold(inverted=not desk.session.hand.inverted))


def _choose(desk: Desk, by: int) -> None:
    session = desk.session
    count = len(session.slot.decision.correction.mattes)
    there = place_of(session.slot.decision.correction, session.hand)
    wanted = min(max(there + by, 0), max(count - 1, 0))
    session.hold(matte=wanted)
    if wanted == there or not count:
        desk.say("no other matte in that direction" if count else "no matte yet")
    desk.changed()


def _sampled(desk: Desk, add: bool) -> None:
    desk.say(keying.sample(desk.session, desk.picture, add))


def _action(name: str, does: str, run: Callable[[Desk], None]) -> Action:
    return Action(f"matte.{name}", "mattes", does, run, ("matte",))


MATTE: tuple[Action, ...] = (
    _action("add", "add the colour at the cursor; the first makes the matte", lambda desk: _sampled(desk, True)),
    _action("remove", "remove the colour at the cursor", lambda desk: _sampled(desk, False)),
    _action("new", "a new matte", said(keying.new)),
    _action("next", "next matte", lambda desk: _choose(desk, +1)),
    _action("previous", "previous matte", lambda desk: _choose(desk, -1)),
    _action("on", "switch it on or off", said(keying.switch)),
    _action("invert", "invert it", said(keying.invert)),
    _action("name", "name it", lambda desk: desk.ask("name")),
    _action("earlier", "move it earlier in the order", said(lambda session: keying.move(session, -1))),
    _action("later", "move it later in the order", said(lambda session: keying.move(session, +1))),
    _action("delete", "delete it; undo brings it back", said(keying.delete)),
    *(_action(f"show-{shown}", does, _show(shown)) for shown, does in _SHOWN.items()),
    _action("show-inverted", "show the matte inverted, or not", _invert_view),
)
