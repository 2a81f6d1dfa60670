"""Hints: the few keys that are most useful in the current mode."""

from poise_tui.actions import MOVES
from poise_tui.desk import banks
from poise_tui.desk.matte import matte_of
from poise_tui.keys.keymap import Keymap
from poise_tui.session.session import Session

Hints = tuple[tuple[str, str], ...]
"""Keys, and what each does in a word or two."""


def hints(session: Session, keys: Keymap) -> Hints:
    """The keys of the current mode, the most useful first: what the mode is for, how to leave it, how to get help."""
    mode = session.hand.mode
    modes = {"balance": _balance, "pick": _pick, "matte": _matte, "curve": _curve, "drift": _drift, "reel": _reel}
    first, more = modes[mode](session, keys)
    tab = keys.first("bank")
    bank = ((tab, "bank"),) if len(banks(mode)) > 1 and tab not in dict(first) else ()
    without = {"matte": "without the matte", "curve": "without curves"}.get(mode, "before")
    return (
        *first,
        *(((keys.first("back"), "back"),) if mode != "balance" else ()),
        (keys.first("help"), "help"),
        *more,
        (keys.first("quit"), "quit"),
        (keys.first("undo"), "undo"),
        *bank,
        (keys.first("before"), without),
    )


def _balance(session: Session, keys: Keymap) -> tuple[Hints, Hints]:
    group = ((keys.first("group"), "group off" if session.together else "group"),) if session.marked else ()
    every = ((keys.first("list.all"), "list all"),) if session.listing.wish.narrow else ()
    if session.hand.bank:
        return (*_levels(keys), *group, *every), ((keys.first("encoding"), "encoding"),)
    up, home, down = (keys.first(f"red.{move}") for move in MOVES)
    fresh = session.slot.history.depth == 0
    nudge = ((up, "more red"), (home, "none"), (down, "less")) if fresh else ((f"{up} {home} {down} ..", "nudge"),)
    zones = f"{keys.first('zone.shadows')}-{keys.first('zone.whole')}"
    first = (*nudge, *group, *every, (keys.first("accept"), "balanced, next"), (keys.first("auto"), "auto"))
    return first, ((zones, "zone"), (keys.first("number"), "number"), (keys.first("zoom.scale"), "scale"))


def _levels(keys: Keymap) -> Hints:
    """The keys of the second bank."""
    columns = {"level": "flare", "warmth": "black point", "magenta": "white point", "exposure": "pivot"}
    pairs = ((f"{keys.first(f'{name}.raise')} {keys.first(f'{name}.lower')}", does) for name, does in columns.items())
    return (*pairs, (keys.first("bank"), "first bank"))


def _pick(session: Session, keys: Keymap) -> tuple[Hints, Hints]:
    patch = f"{keys.first('patch.smaller')} {keys.first('patch.larger')}"
    first = (("arrows", "point"), (keys.first("pick.light"), "grey by light"), (keys.first("pick.zone"), "by balance"))
    corner = f"chart corner {len(session.hand.corners) + 1}/4"
    return first, ((keys.first("chart.corner"), corner), (keys.first("chart.find"), "find a chart"), (patch, "patch"))


def _matte(session: Session, keys: Keymap) -> tuple[Hints, Hints]:
    there = matte_of(session.slot.decision.correction, session.hand) is not None
    first = (("arrows", "point"), (keys.first("matte.add"), "add colour" if there else "key colour"))
    more = (
        (keys.first("matte.remove"), "remove"),
        (keys.first("matte.show-matte"), "matte alone"),
        (keys.first("matte.new"), "new"),
    )
    return first, more if there else ()


def _curve(session: Session, keys: Keymap) -> tuple[Hints, Hints]:
    first = (("left right", "input"), ("up down", "bend"))
    more = (
        (f"{keys.first('curve.previous')} {keys.first('curve.next')}", "points"),
        (keys.first("curve.remove"), "remove"),
        (keys.first("reset"), "straight"),
        (f"{keys.first('curve.red')}-{keys.first('curve.master')}", "channel"),
    )
    return first, more


def _drift(session: Session, keys: Keymap) -> tuple[Hints, Hints]:
    pin = (keys.first("frame.judged"), "judge by it")
    up, home, down = (keys.first(f"red.{move}") for move in MOVES)
    nudge = ((f"{up} {home} {down} ..", "nudge"),)
    if not session.slot.shot.numbers:
        return nudge, ()
    jumps = (f"{keys.first('run.previous')} {keys.first('run.next')}", "frames that jump")
    there = session.slot.keyed and bool(session.slot.decision.keyframes)
    key = (keys.first("keyframe.remove" if there else "keyframe.set"), "remove keyframe" if there else "keyframe")
    steady = (keys.first("steady"), "flicker back" if session.slot.decision.steady else "steady")
    return (("left right", "frames"), jumps, key, steady), (pin, *nudge)


def _reel(session: Session, keys: Keymap) -> tuple[Hints, Hints]:
    outliers = f"{keys.first('reel.previous')} {keys.first('reel.next')}"
    groups = f"{keys.first('reel.closer')} {keys.first('reel.wider')}"
    first = (("left right", "shots"), (outliers, "outliers"), (keys.first("reel.open"), "balance it"))
    return first, ((groups, "shots per column"),)
