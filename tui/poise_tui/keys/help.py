"""The text of the help: every key and command, made from the registry."""

from collections.abc import Mapping, Sequence
from itertools import groupby

from poise_tui.actions import ACTIONS, COLUMNS, MOVES, Mode, column, column_at
from poise_tui.commandline import COMMANDS
from poise_tui.desk import banks
from poise_tui.draw.cells import Ink, Line
from poise_tui.keys.keymap import Keymap

TABLES: tuple[Mode, ...] = ("matte", "curve")
"""Those with a desk of their own."""
KEYS = 12
"""Cells that keys take before what they do."""


TOGETHER = (
    "The desk's keys go to the marked shots and the one in hand: a nudge moves each",
    "by the same step from where it stands; neutral, an encoding, reset and paste",
    "are the same for all. Undo on any of them takes it back on all, save those that",
    "were changed since. Auto and match go to one after the other; auto leaves what",
    "was made by hand. States, notes and :set stay with the shot in hand.",
)
"""What goes to several shots, in lines of at most 80 cells."""
SECTIONS: Mapping[Mode, str] = {
    "pick": "cursor",
    "matte": "mattes",
    "curve": "curves",
    "drift": "over the frames",
    "reel": "reel",
}


def section(text: Sequence[Line], mode: Mode) -> int:
    """The line at which what a table is about begins; 0 for balancing."""
    titles = [line[0][0] if line else "" for line in text]
    return titles.index(SECTIONS[mode]) if mode in SECTIONS else 0


def lines(keys: Keymap) -> list[Line]:
    """The whole text, a line each."""
    text: list[Line] = [
        [("Steer by scopes and readings, never by the picture.", Ink.TEXT)],
    ]
    text += [[], [("desk", Ink.TITLE), (": raise, neutral, lower", Ink.FAINT)]]
    for name in COLUMNS:
        three = " ".join(keys.shown(f"{name}.{move}") for move in MOVES)
        text.append([(f"{three:<{KEYS}}", Ink.KEY), (column(name), Ink.TEXT)])
    for mode in TABLES:
        named = [one.name for one in banks(mode)]
        text += [[], [(f"desk of a {mode}", Ink.TITLE), (f": {', '.join(named)}", Ink.FAINT)]]
        for name in COLUMNS:
            three = " ".join(keys.shown(f"{name}.{move}") for move in MOVES)
            does = column_at(name, mode)
            text += [[(f"{three:<{KEYS}}", Ink.KEY), (does, Ink.TEXT)]] if does else []
    for group, actions in groupby((one for one in ACTIONS if one.group != "desk"), key=lambda one: one.group):
        text += [[], [(group, Ink.TITLE)]]
        text += [[(f"{keys.shown(one.name):<{KEYS - 1}} ", Ink.KEY), (one.does, Ink.TEXT)] for one in actions]
    text += [[], [("commands, after ", Ink.TITLE), (keys.first("command"), Ink.KEY)]]
    for command in COMMANDS:
        text.append([(f"{command.usage:<26}", Ink.KEY), (command.does, Ink.TEXT)])
    marks = "= balanced   h held   - skipped   + marked   @ judged on frame   * not saved yet   ! something is wrong"
    beyond = "! behind a name: it has what a delivery may not have; the readings say what, :faults says all"
    text += [[], [("in the list", Ink.TITLE)], [(marks, Ink.TEXT)], [(beyond, Ink.TEXT)]]
    text += [[], [("a group", Ink.TITLE)], *([(line, Ink.TEXT)] for line in TOGETHER)]
    over = "! stands apart   . not measured yet   x can't be measured; bright as it is, faint as it was before"
    rule = "apart: over 3.5 deviations (1.4826 median absolute deviations) and 2 % from the reel's median"
    return [*text, [], [("over the columns of the reel", Ink.TITLE)], [(over, Ink.TEXT)], [(rule, Ink.TEXT)]]
