"""Actions of the desk's columns: three keys that raise, reset and lower a control."""

from collections.abc import Callable

from poise_tui.actions.registry import Action, Desk
from poise_tui.desk import Bank, Mode, banks
from poise_tui.edits import group
from poise_tui.edits.group import Result

COLUMNS = ("red", "green", "blue", "level", "warmth", "magenta", "exposure", "contrast", "saturation", "bend")
"""Columns are named by their control on the first bank of balance mode."""
_LONGER = {
    "bend": "toe in the shadows, else shoulder",
    "black": "black point",
    "white": "white point",
}
"""Longer names for the help and the manual."""
MOVES = ("raise", "neutral", "lower")
"""The three keys of a column, from top to bottom."""


def column(name: str) -> str:
    """The controls of a column in balance mode, on each bank that has one.

    Example:
        >>> column("red")
        'red; on the second bank flare red'
    """
    second = _named(banks("balance")[1], COLUMNS.index(name))
    return _LONGER.get(name, name) + (f"; on the second bank {_LONGER.get(second, second)}" if second else "")


def column_at(name: str, mode: Mode) -> str:
    """The controls of a column on each bank of another mode; empty where there are none.

    Example:
        >>> column_at("red", "matte"), column_at("level", "curve")
        ('hue low, denoise, red', '')
    """
    found = [_named(bank, COLUMNS.index(name)) for bank in banks(mode)]
    return ", ".join(one or "-" for one in found) if any(found) else ""


def _named(bank: Bank, place: int) -> str:
    found = bank.columns[place] if place < len(bank.columns) else None
    return found.name if found else ""


def columns() -> list[Action]:
    """Three actions per column."""
    actions = []
    for place, name in enumerate(COLUMNS):
        for move, run in zip(MOVES, (_nudge(place, +1), _home(place), _nudge(place, -1)), strict=True):
            actions.append(Action(f"{name}.{move}", "desk", f"{move} {column(name)}", run))
    return actions


def _nudge(place: int, direction: int) -> Callable[[Desk], None]:
    def run(desk: Desk) -> None:
        session = desk.session
        before = session.slot.decision.correction
        with session.pressing(place):
            report(desk, group.nudge(session, place, direction), "moved", "at the limit")
        note = session.column(place).note(before, session.slot.decision.correction)
        if note:
            desk.say(note)

    return run


def _home(place: int) -> Callable[[Desk], None]:
    return lambda desk: report(desk, group.home(desk.session, place), "reset", "already neutral")


def report(desk: Desk, result: Result, did: str, not_moved: str, alone: str = "") -> None:
    """Reports a change of one shot or several.

    Args:
        did, not_moved: as for `group.summary`.
        alone: what is said where one shot was changed; if empty, nothing is said where all went well.
    """
    done = f"{did} {result.moved} shots; undo takes it back" if alone and result.asked > 1 else alone
    text = group.summary(desk.session, result, did, not_moved) or done
    if text:
        desk.say(text, warning=bool(result.refused))
    else:
        desk.changed()
