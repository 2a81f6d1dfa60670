"""Actions: the registry of everything that a key can do, described in the words of the help and the manual."""

from collections.abc import Callable

from poise.correction import Zone
from poise.sidecar import State
from poise_tui.actions.chart import CHART
from poise_tui.actions.columns import COLUMNS, MOVES, column, column_at, columns
from poise_tui.actions.compare import COMPARE
from poise_tui.actions.cursor import CURSOR
from poise_tui.actions.curve import CURVE
from poise_tui.actions.deciding import DECIDE
from poise_tui.actions.drift import DRIFT
from poise_tui.actions.faults import FAULTS
from poise_tui.actions.matte import MATTE
from poise_tui.actions.reel import REEL
from poise_tui.actions.registry import Action, Desk, Group, Question
from poise_tui.actions.shots import SHOTS
from poise_tui.actions.zoom import ZOOM
from poise_tui.desk import MODES, Mode, banks, zoned
from poise_tui.draw.arrange import INSTRUMENTS, Instrument

__all__ = [
    "ACTIONS",
    "COLUMNS",
    "MODES",
    "MOVES",
    "Action",
    "Desk",
    "Group",
    "Mode",
    "Question",
    "action",
    "column",
    "column_at",
]


def _zones() -> list[Action]:
    def to(zone: Zone) -> Callable[[Desk], None]:
        def run(desk: Desk) -> None:
            desk.session.hold(zone=zone)
            if zoned(desk.session.hand):
                desk.changed()
            else:
                desk.say(f"{zone.value}, for red, green, blue and level; no column of this bank has a zone")

        return run

    moves = "red, green, blue and level move the"
    return [Action(f"zone.{z.name.lower()}", "zone and step", f"{moves} {z.value}", to(z)) for z in Zone]


def _views() -> list[Action]:
    def to(view: Instrument | None) -> Callable[[Desk], None]:
        return lambda desk: desk.instrument(view)

    alone = [Action(f"view.{name}", "see", f"the {name} alone", to(name)) for name in INSTRUMENTS]
    return [*alone, Action("view.all", "see", "all instruments that fit", to(None))]


def _toggle_before(desk: Desk) -> None:
    desk.session.before = not desk.session.before
    desk.changed()


def _step(desk: Desk, by: int) -> None:
    before = desk.session.hand
    desk.session.step(by)
    if desk.session.hand == before:
        desk.say("the finest step" if by < 0 else "the coarsest step")
    desk.changed()


def _number(desk: Desk) -> None:
    desk.number()


def _next_bank(desk: Desk) -> None:
    desk.session.next_bank()
    if len(banks(desk.session.hand.mode)) == 1:
        desk.say("this mode has one bank")
    desk.changed()


def _onward(state: State) -> Callable[[Desk], None]:
    return lambda desk: desk.onward(state)


def _work(mode: Mode) -> Callable[[Desk], None]:
    return lambda desk: desk.work(mode)


_BALANCE: tuple[Mode, ...] = ("balance", "drift")

ACTIONS: tuple[Action, ...] = (
    *columns(),
    *_zones(),
    Action("step.finer", "zone and step", "half the step", lambda desk: _step(desk, -1)),
    Action("step.coarser", "zone and step", "twice the step", lambda desk: _step(desk, +1)),
    Action("number", "zone and step", "type a number for a column: this key, one of the column's, the number", _number),
    Action("bank", "zone and step", "switch the desk to its next bank", _next_bank),
    Action("accept", "decide", "balanced; go to the next unfinished shot", _onward("balanced"), _BALANCE),
    Action("hold", "decide", "hold the shot with a note; go to the next", lambda desk: desk.ask("note")),
    Action("skip", "decide", "skip the shot; go to the next", _onward("skipped")),
    Action("auto", "decide", "a measured starting point", lambda desk: desk.auto()),
    *DECIDE,
    *SHOTS,
    *FAULTS,
    Action(
        "before", "see", "before and after; in matte and curve mode, without the matte or the curves", _toggle_before
    ),
    *_views(),
    *ZOOM,
    *COMPARE,
    Action("redraw", "see", "redraw everything", lambda desk: desk.redraw()),
    Action("neutral.pick", "modes", "pick what should be grey, and back", _work("pick")),
    Action("key", "modes", "key a colour, and back", _work("matte")),
    Action("curves", "modes", "shape curves, and back", _work("curve")),
    Action("drift", "modes", "drift and flicker over the frames of a sequence, and back", _work("drift")),
    Action("reel", "modes", "all shots side by side, and back", _work("reel")),
    Action("back", "modes", "back to balancing", _work("balance"), tuple(mode for mode in MODES if mode != "balance")),
    *CURSOR,
    *CHART,
    *MATTE,
    *CURVE,
    *DRIFT,
    *REEL,
    Action("command", "program", "type a command", lambda desk: desk.ask("command")),
    Action("help", "program", "help", lambda desk: desk.help()),
    Action("quit", "program", "quit; everything is saved", lambda desk: desk.quit()),
)


def action(name: str) -> Action:
    """The action with a name.

    Raises:
        KeyError: no action has this name.
    """
    return _BY_NAME[name]


_BY_NAME = {one.name: one for one in ACTIONS}
