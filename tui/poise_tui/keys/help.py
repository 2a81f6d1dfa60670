"""The text of the help: every key and command, made from the registry."""

from collections.abc import Mapping, Sequence
from itertools import groupby

from poise_tui.actions import ACTIONS, COLUMNS, MOVES, Mode, column, column_at
from poise_tui.commandline import COMMANDS
from poise_tui.desk import banks
from poise_tui.draw.cells import Ink, Line
from poise_tui.keys.keymap import Keymap

WITH_OWN_DESK: tuple[Mode, ...] = ("matte", "curve")
"""The modes with a desk of their own."""
KEYS = 12
"""Cells that keys take before their description."""


GROUP = (
    "The desk's keys go to the marked shots and the current one: a nudge moves each",
    "by the same step from its own value; neutral, an encoding, reset and paste set",
    "the same value on all. Undo on any of them undoes it on all, except on shots",
    "changed since. Auto and match measure one shot after the other; auto leaves",
    "corrections made by hand. States, notes and :set go to the current shot only; a",
    "number typed for a column goes to all.",
)
"""How a group works, in lines of at most 80 cells."""
SECTIONS: Mapping[Mode, str] = {
    "pick": "cursor",
    "matte": "mattes",
    "curve": "curves",
    "drift": "over the frames",
    "reel": "reel",
}


def section(text: Sequence[Line], mode: Mode) -> int:
    """The line at which the section about a mode begins; 0 for balance mode."""
    titles = [line[0][0] if line else "" for line in text]
    return titles.index(SECTIONS[mode]) if mode in SECTIONS else 0


def lines(keys: Keymap) -> list[Line]:
    """The whole help, line by line."""
    text: list[Line] = [
        [("Steer by scopes and readings, never by the picture.", Ink.TEXT)],
    ]
    text += [[], [("desk", Ink.TITLE), (": raise, neutral, lower", Ink.FAINT)]]
    for name in COLUMNS:
        three = " ".join(keys.shown(f"{name}.{move}") for move in MOVES)
        text.append([(f"{three:<{KEYS}}", Ink.KEY), (column(name), Ink.TEXT)])
    for mode in WITH_OWN_DESK:
        named = [one.name for one in banks(mode)]
        text += [[], [(f"desk in {mode} mode", Ink.TITLE), (f": {', '.join(named)}", Ink.FAINT)]]
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
    marks = "= balanced   h held   - skipped   + marked   T the reference   @ judged by frame   * not saved yet"
    beyond = (
        "! before a name: fault in file or sidecar; after it: delivery faults, which the readings name and :faults "
        "explains   ~ figures still to be measured   sure: certainty of auto in per cent"
    )
    text += [[], [("in the list", Ink.TITLE)], [(marks, Ink.TEXT)], [(beyond, Ink.TEXT)]]
    text += [[], [("a group", Ink.TITLE)], *([(line, Ink.TEXT)] for line in GROUP)]
    over = "! outlier   . not measured yet   x can't be measured; bright: corrected, faint: before"
    rule = "outlier: over 3.5 deviations (1.4826 median absolute deviations) and 2 % from the reel's median"
    return [*text, [], [("above the columns of the reel", Ink.TITLE)], [(over, Ink.TEXT)], [(rule, Ink.TEXT)]]
