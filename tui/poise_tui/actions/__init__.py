"""Actions: the one registry of everything that a key can do, with the words that help and README use for it."""

from collections.abc import Callable

from poise.correction import Correction, Zone
from poise.sidecar import State
from poise_tui.actions.cursor import CURSOR
from poise_tui.actions.curve import CURVE
from poise_tui.actions.matte import MATTE
from poise_tui.actions.registry import Action, Desk, Group, Question, said, then
from poise_tui.desk import MODES, Bank, Column, Mode, banks
from poise_tui.draw.arrange import INSTRUMENTS, Instrument
from poise_tui.edits import judging, keying, shaping
from poise_tui.edits.copied import told

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

COLUMNS = ("red", "green", "blue", "level", "warmth", "magenta", "exposure", "contrast", "saturation", "bend")
"""Columns are called by what they are on the first bank of the balance desk."""
_SECOND = ("black point", "white point", "pivot", "source encoding", "delivery encoding", "range")
_FIRST = {"bend": "toe in the shadows, else shoulder"}


MOVES = ("raise", "neutral", "lower")
"""What the three keys of a column do, from top to bottom."""


def column(name: str) -> str:
    """What a column is while a shot is balanced: on the first bank, and on the second."""
    place = COLUMNS.index(name)
    return _FIRST.get(name, name) + (f"; on the second bank {_SECOND[place]}" if place < len(_SECOND) else "")


def column_at(name: str, mode: Mode) -> str:
    """What a column is in each bank of another table; empty where it is nothing.

    Example:
        >>> column_at("red", "matte"), column_at("level", "curve")
        ('hue low, denoise, red', '')
    """
    found = [_named(bank, COLUMNS.index(name)) for bank in banks(mode)]
    return ", ".join(one or "-" for one in found) if any(found) else ""


def _named(bank: Bank, place: int) -> str:
    found = bank.columns[place] if place < len(bank.columns) else None
    return found.name if isinstance(found, Column) else found or ""


def _columns() -> list[Action]:
    actions = []
    for place, name in enumerate(COLUMNS):
        for move, run in zip(MOVES, (_nudge(place, +1), _home(place), _nudge(place, -1)), strict=True):
            actions.append(Action(f"{name}.{move}", "desk", f"{move} {column(name)}", run))
    return actions


def _nudge(place: int, direction: int) -> Callable[[Desk], None]:
    return lambda desk: desk.nudge(place, direction)


def _home(place: int) -> Callable[[Desk], None]:
    return lambda desk: desk.home(place)


def _zones() -> list[Action]:
    def to(zone: Zone) -> Callable[[Desk], None]:
        return lambda desk: then(desk, lambda: desk.session.hold(zone=zone))

    moves = "red, green, blue and level move the"
    return [Action(f"zone.{z.name.lower()}", "zone and step", f"{moves} {z.value}", to(z)) for z in Zone]


def _views() -> list[Action]:
    def to(view: Instrument | None) -> Callable[[Desk], None]:
        return lambda desk: desk.instrument(view)

    alone = [Action(f"view.{name}", "see", f"the {name} alone", to(name)) for name in INSTRUMENTS]
    return [*alone, Action("view.all", "see", "all instruments there is room for", to(None))]


def _later() -> list[Action]:
    def tell(what: str) -> Callable[[Desk], None]:
        return lambda desk: desk.say(f"{what} is not in this version yet")

    coming = {
        "match": "matching to the reference",
        "reference": "taking a shot as reference",
        "reel": "the reel view",
        "wipe": "the wipe against the reference",
        "group": "nudging the marked shots together",
    }
    return [Action(name, "not in this version yet", what, tell(what)) for name, what in coming.items()]


def _toggle_before(desk: Desk) -> None:
    desk.session.before = not desk.session.before
    desk.changed()


def _undo(desk: Desk, forward: bool) -> None:
    before = desk.session.slot.decision
    moved = desk.session.redo() if forward else desk.session.undo()
    after = desk.session.slot.decision
    if moved and desk.session.hand.mode != "balance":
        named = [part for part in Correction.__struct_fields__
                 if getattr(before.correction, part) != getattr(after.correction, part)]
        desk.say(f"{'did again' if forward else 'took back'}: {', '.join(named) or 'state or note'}")
    if not moved:
        session, last = desk.session, desk.session.last
        elsewhere = last is not None and last != session.index
        where = f"; {session.slots[last].shot.name} was changed last" if elsewhere and last is not None else ""
        desk.say("nothing to do again" if forward else f"nothing to undo on this shot{where}")
    desk.changed()


def _step(desk: Desk, by: int) -> None:
    before = desk.session.hand
    desk.session.step(by)
    if desk.session.hand == before:
        desk.say("the finest step" if by < 0 else "the coarsest step")
    desk.changed()


def _turn(desk: Desk) -> None:
    desk.session.turn()
    if len(banks(desk.session.hand.mode)) == 1:
        desk.say("this desk has one bank")
    desk.changed()


def _reset(desk: Desk) -> None:
    session = desk.session
    if session.hand.mode == "matte":
        desk.say(keying.reset(session))
    elif session.hand.mode == "curve":
        desk.say(shaping.reset(session))
    else:
        desk.say("back to neutral; undo takes it back" if session.reset() else "neutral already")


def _copy(desk: Desk) -> None:
    desk.say(f"copied {told(desk.session.copy())} of {desk.session.slot.shot.name}")


def _paste(desk: Desk) -> None:
    desk.session.paste()
    if desk.session.copied is not None:
        desk.say(f"pasted {told(desk.session.copied)}")


def _onward(state: State) -> Callable[[Desk], None]:
    return lambda desk: desk.onward(state)


def _work(mode: Mode) -> Callable[[Desk], None]:
    return lambda desk: desk.work(mode)


def _move(by: Callable[[Desk], int]) -> Callable[[Desk], None]:
    return lambda desk: desk.go(desk.session.index + by(desk))


_BALANCE: tuple[Mode, ...] = ("balance",)

ACTIONS: tuple[Action, ...] = (
    *_columns(),
    *_zones(),
    Action("step.finer", "zone and step", "half the step", lambda desk: _step(desk, -1)),
    Action("step.coarser", "zone and step", "twice the step", lambda desk: _step(desk, +1)),
    Action("bank", "zone and step", "turn the desk to its next bank", _turn),
    Action("accept", "decide", "balanced; on to the next unfinished shot", _onward("balanced"), _BALANCE),
    Action("hold", "decide", "hold the shot with a note, and on", lambda desk: desk.ask("note")),
    Action("skip", "decide", "skip the shot, and on", _onward("skipped")),
    Action("auto", "decide", "a starting point, measured", lambda desk: desk.auto()),
    Action("copy", "decide", "copy the correction; the matte or the curves at their tables", _copy),
    Action("paste", "decide", "paste what was copied", _paste),
    Action("reset", "decide", "the correction back to neutral; the matte or the curve in hand at their tables", _reset),
    Action("undo", "decide", "undo, shot by shot, without limit", lambda desk: _undo(desk, forward=False)),
    Action("redo", "decide", "do again what was undone", lambda desk: _undo(desk, forward=True)),
    Action("shot.next", "shots", "next shot", _move(lambda desk: 1)),
    Action("shot.previous", "shots", "previous shot", _move(lambda desk: -1)),
    Action("shot.page-down", "shots", "a page of shots down", _move(lambda desk: desk.page())),
    Action("shot.page-up", "shots", "a page of shots up", _move(lambda desk: -desk.page())),
    Action("shot.first", "shots", "first shot", lambda desk: desk.go(0)),
    Action("shot.last", "shots", "last shot", lambda desk: desk.go(len(desk.session.slots) - 1)),
    Action("frame.next", "shots", "next frame of a sequence", lambda desk: desk.frame(+1)),
    Action("frame.previous", "shots", "previous frame of a sequence", lambda desk: desk.frame(-1)),
    Action("frame.judged", "shots", "judge the sequence on this frame from now on", said(judging.pin)),
    Action("find", "shots", "find a shot by a part of its name", lambda desk: desk.ask("find")),
    Action("find.again", "shots", "the next shot found", lambda desk: desk.find(None)),
    Action("mark", "shots", "mark the shot, or take its mark off", lambda desk: then(desk, desk.session.mark)),
    Action("before", "see", "before and after; of this matte or of the curves at their tables", _toggle_before),
    *_views(),
    Action("redraw", "see", "draw everything anew", lambda desk: desk.redraw()),
    Action("neutral.pick", "tables", "pick what should be grey, and back", _work("pick")),
    Action("key", "tables", "key a colour, and back", _work("matte")),
    Action("curves", "tables", "shape curves, and back", _work("curve")),
    Action("back", "tables", "back to balancing", _work("balance"), ("pick", "matte", "curve")),
    *CURSOR,
    *MATTE,
    *CURVE,
    Action("command", "program", "type a command", lambda desk: desk.ask("command")),
    Action("help", "program", "help", lambda desk: desk.help()),
    Action("quit", "program", "quit; everything is saved", lambda desk: desk.quit()),
    *_later(),
)


def action(name: str) -> Action:
    """The action of a name.

    Raises:
        KeyError: there is none.
    """
    return _BY_NAME[name]


_BY_NAME = {one.name: one for one in ACTIONS}
