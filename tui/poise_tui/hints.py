"""Hints: the few keys worth naming now, and the one about a picture that is as flat as log code."""

from poise.correction import CODED, Encoding
from poise.scopes import Readings
from poise_tui.actions import MOVES
from poise_tui.keymap import Keymap
from poise_tui.session import Session

_FLOOR, _FLAT, _REACH, _COLOUR = 4.0, 15.0, 62.0, 9.0
"""Per cent: black above, range between and mean chroma below which display code is seldom found; log code of scenes of
usual contrast has all of them (common practice, no source). A card or a wall has less range."""


def looks_flat(readings: Readings, encoding: Encoding) -> bool:
    """Whether a picture taken for display code is as flat as log code; a hint, since fog is flat as well."""
    luma = readings.luma
    return (
        encoding.source == CODED.source
        and luma.black > _FLOOR
        and _FLAT < luma.white - luma.black < _REACH
        and readings.saturation < _COLOUR
    )


def hints(session: Session, keys: Keymap) -> tuple[tuple[str, str], ...]:
    """Keys and what they do, the most useful first: how to nudge, to accept, and to get help."""
    up, home, down = (keys.first(f"red.{move}") for move in MOVES)
    first = session.slot.history.depth == 0
    nudge = ((up, "more red"), (home, "none"), (down, "less")) if first else ((f"{up} {home} {down} ..", "nudge"),)
    return (
        *nudge,
        (keys.first("accept"), "balanced, on"),
        (keys.first("auto"), "auto"),
        (keys.first("help"), "help"),
        (keys.first("quit"), "quit"),
        (keys.first("undo"), "undo"),
        (f"{keys.first('zone.shadows')}-{keys.first('zone.whole')}", "zone"),
        (keys.first("bank"), "bank"),
        (keys.first("before"), "before"),
    )
