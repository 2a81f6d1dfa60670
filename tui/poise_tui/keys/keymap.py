"""The keymap: which key does what, as data; a file in the user's config folder can change it.

```toml
[keys]
undo = "backspace"
"exposure.raise" = ["U", "insert"]
```

A key is the character that it types, or a name from NAMED.
"""

import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path

from poise.errors import FileError, UsageError
from poise_tui.actions import COLUMNS, MODES, MOVES, Mode, action

NAMED: tuple[str, ...] = (
    *("space", "enter", "tab", "up", "down", "left", "right", "home", "end", "escape"),
    *("pageup", "pagedown", "insert", "delete", "backspace"),
    *(f"ctrl+{letter}" for letter in "defgklnortuwxy"),
)
"""Keys without a character. Other Ctrl keys belong to the terminal, tmux or screen, or arrive as another key."""

_DESK = ("qaz", "wsx", "edc", "rfv", "tgb", "yhn", "ujm", "ik,", "ol.", "p;/")

DEFAULT: Mapping[str, tuple[str, ...]] = {
    **{
        f"{name}.{move}": (key,)
        for name, keys in zip(COLUMNS, _DESK, strict=True)
        for move, key in zip(MOVES, keys, strict=True)
    },
    "zone.shadows": ("1",),
    "zone.midtones": ("2",),
    "zone.highlights": ("3",),
    "zone.whole": ("4",),
    "step.finer": ("-",),
    "step.coarser": ("=",),
    "number": ("#",),
    "bank": ("tab",),
    "accept": ("enter",),
    "hold": ("H",),
    "skip": ("S",),
    "auto": ("A",),
    "copy": ("C",),
    "paste": ("V",),
    "reset": ("R",),
    "encoding": ("@",),
    "version.keep": ("$",),
    "version.take": ("!",),
    "undo": ("Z",),
    "redo": ("Y",),
    "shot.next": ("down", "]"),
    "shot.previous": ("up", "["),
    "shot.page-down": ("pagedown",),
    "shot.page-up": ("pageup",),
    "shot.first": ("home",),
    "shot.last": ("end",),
    "frame.next": ("right", ")"),
    "frame.previous": ("left", "("),
    "play": ("_",),
    "frame.judged": ("P",),
    "find": ("F",),
    "find.again": ("J",),
    "list.only": ("I",),
    "list.order": ("O",),
    "list.name": ('"',),
    "list.all": ("escape",),
    "fault.worst": ("|",),
    "fault.next": ("}",),
    "fault.previous": ("{",),
    "mark": ("X",),
    "mark.all": ("*",),
    "group": ("G",),
    "before": ("space",),
    "view.waveform": ("5",),
    "view.parade": ("6",),
    "view.vectorscope": ("7",),
    "view.histogram": ("8",),
    "view.picture": ("9",),
    "view.all": ("0",),
    "zoom.scale": ("%",),
    "zoom.vectorscope": ("&",),
    "redraw": ("ctrl+l",),
    "command": (":",),
    "help": ("?",),
    "quit": ("Q",),
    "neutral.pick": ("N",),
    "key": ("K",),
    "curves": ("L",),
    "drift": ("D",),
    "reel": ("E",),
    "back": ("escape",),
    "cursor.up": ("up",),
    "cursor.down": ("down",),
    "cursor.left": ("left",),
    "cursor.right": ("right",),
    "patch.smaller": ("<",),
    "patch.larger": (">",),
    "pick.light": ("enter",),
    "pick.zone": ("B",),
    "chart.corner": ("+",),
    "chart.back": ("backspace", "delete"),
    "chart.find": ("U",),
    "matte.add": ("enter",),
    "matte.remove": ("backspace", "delete"),
    "matte.new": ("+",),
    "matte.next": ("}",),
    "matte.previous": ("{",),
    "matte.on": ("O",),
    "matte.invert": ("I",),
    "matte.name": ("'",),
    "matte.earlier": ("U",),
    "matte.later": ("B",),
    "matte.delete": ("D",),
    "matte.show-result": ("5",),
    "matte.show-matte": ("6",),
    "matte.show-keyed": ("7",),
    "matte.show-inverted": ("8",),
    "curve.red": ("1",),
    "curve.green": ("2",),
    "curve.blue": ("3",),
    "curve.master": ("4",),
    "curve.right": ("right",),
    "curve.left": ("left",),
    "curve.next": ("}",),
    "curve.previous": ("{",),
    "curve.up": ("up",),
    "curve.down": ("down",),
    "curve.add": ("enter",),
    "curve.remove": ("backspace", "delete"),
    "run.next": ("}",),
    "run.previous": ("{",),
    "keyframe.set": ("+",),
    "keyframe.remove": ("backspace", "delete"),
    "keyframe.next": ("'",),
    "steady": ("U",),
    "reel.right": ("right",),
    "reel.left": ("left",),
    "reel.next": ("}",),
    "reel.previous": ("{",),
    "reel.wider": (">",),
    "reel.closer": ("<",),
    "reel.open": ("enter",),
    "match": ("M",),
    "reference": ("T",),
    "wipe": ("W",),
    "wipe.left": ("<",),
    "wipe.right": (">",),
}


@dataclass(frozen=True)
class Keymap:
    """The keys of every action, and the action of every key in each mode."""

    keys: Mapping[str, tuple[str, ...]]
    actions: Mapping[Mode, Mapping[str, str]]

    def shown(self, action: str) -> str:
        """An action's keys as the help shows them; "none" if it has none."""
        return " ".join(self.keys[action]) or "none"

    def first(self, action: str) -> str:
        """The key that hints show; empty if the action has none."""
        return self.keys[action][0] if self.keys[action] else ""


def keymap(changes: Mapping[str, Iterable[str]] | None = None) -> Keymap:
    """The default keys with some changed.

    Raises:
        UsageError: an unknown action or key, or one key for two actions.

    Example:
        >>> keymap({"undo": ["backspace"]}).actions["balance"]["backspace"]
        'undo'
    """
    keys = dict(DEFAULT)
    for name, given in (changes or {}).items():
        if name not in keys:
            near = get_close_matches(name, DEFAULT, 3, 0.4) or ["undo", "red.raise"]
            raise UsageError(f"no action is called {name!r}; use one such as {', '.join(near)}")
        keys[name] = tuple(given)
        for key in keys[name]:
            if not _known(key):
                raise UsageError(f"{name}: no key is called {key!r}; use the character, or one of {' '.join(NAMED)}")
    return Keymap(keys, {mode: _actions(keys, mode) for mode in MODES})


def _actions(keys: Mapping[str, tuple[str, ...]], mode: Mode) -> dict[str, str]:
    """The action of every key in one mode; an action of some modes takes precedence over one of every mode.

    Raises:
        UsageError: one key for two actions.
    """
    general: dict[str, str] = {}
    own: dict[str, str] = {}
    for name, given in keys.items():
        modes = action(name).modes
        if mode not in modes:
            continue
        there = general if modes == MODES else own
        for key in given:
            if there.setdefault(key, name) != name:
                raise UsageError(f"the key {key!r} is given to both {there[key]} and {name}; give one another key")
    return general | own


def load(path: Path) -> Keymap:
    """The keymap of a TOML file; the default if there is no such file.

    Raises:
        FileError: the file can't be read or is not valid.
    """
    try:
        content = path.read_bytes()
    except FileNotFoundError:
        return keymap()
    except OSError as fault:
        raise FileError(path, f"can't be read: {fault.strerror}") from None
    try:
        found = tomllib.loads(content.decode())
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as fault:
        raise FileError(path, f"not valid TOML: {fault}; fix it or move it away") from None
    if set(found) - {"keys"}:
        raise FileError(path, f"unknown part {sorted(set(found) - {'keys'})[0]!r}; a keymap has only [keys]")
    table = found.get("keys", {})
    if not isinstance(table, dict):
        raise FileError(path, "[keys] must be a table of actions and their keys")
    try:
        return keymap({name: _listed(name, value) for name, value in table.items()})
    except UsageError as fault:
        raise FileError(path, str(fault)) from None


def _listed(name: str, value: object) -> list[str]:
    keys = [value] if isinstance(value, str) else value
    if not isinstance(keys, list) or not all(isinstance(key, str) for key in keys):
        raise UsageError(f'{name}: a key is a string such as "u", or a list of them')
    return keys


def _known(key: str) -> bool:
    return key in NAMED or (len(key) == 1 and key.isprintable() and key != " ")
