"""Actions on curves: choosing the channel, moving the cursor along the input, and editing points."""

from collections.abc import Callable

from poise_tui.actions.registry import Action, Desk, said, then
from poise_tui.desk import CHANNELS, Channel
from poise_tui.edits import shaping
from poise_tui.session.session import Session


def _to(channel: Channel) -> Callable[[Desk], None]:
    return lambda desk: then(desk, lambda: shaping.choose(desk.session, channel))


def _moves(how: Callable[[Session, int], object], by: int) -> Callable[[Desk], None]:
    return lambda desk: then(desk, lambda: how(desk.session, by))


def _action(name: str, does: str, run: Callable[[Desk], None]) -> Action:
    return Action(f"curve.{name}", "curves", does, run, ("curve",))


CURVE: tuple[Action, ...] = (
    *(_action(name, f"the curve of {name}", _to(name)) for name in CHANNELS),
    _action("right", "cursor to a higher input; it stops at every point", _moves(shaping.slide, +1)),
    _action("left", "cursor to a lower input", _moves(shaping.slide, -1)),
    _action("next", "cursor to the next point", _moves(shaping.jump, +1)),
    _action("previous", "cursor to the previous point", _moves(shaping.jump, -1)),
    _action("up", "raise the point at the cursor; adds one if there is none", _moves(shaping.bend, +1)),
    _action("down", "lower it", _moves(shaping.bend, -1)),
    _action("add", "add a point on the curve at the cursor", said(shaping.add)),
    _action("remove", "remove the point at the cursor", said(shaping.remove)),
)
