"""Hints: the few keys worth naming now, and the one about a picture that is as flat as log code."""

from poise.correction import CODED, Encoding
from poise.scopes import Readings
from poise_tui.keymap import Keymap
from poise_tui.session import Session

_FLOOR, _REACH, _COLOUR = 4.0, 62.0, 9.0
"""Per cent: black above, range below and mean chroma below which display code is seldom found; log code of scenes of
usual contrast has all three (common practice, no source)."""


def looks_flat(readings: Readings, encoding: Encoding) -> bool:
    """Whether a picture taken for display code is as flat as log code; a hint, since fog is flat as well."""
    luma = readings.luma
    return (
        encoding.source == CODED.source
        and luma.black > _FLOOR
        and luma.white - luma.black < _REACH
        and readings.saturation < _COLOUR
    )


def hints(session: Session, keys: Keymap) -> tuple[tuple[str, str], ...]:
    """Keys and what they do, the most useful first: how to nudge, to accept, and to get help."""
    turn = keys.first("bank")
    nudge = f"{keys.first('red.raise')}{keys.first('red.neutral')}{keys.first('red.lower')}"
    first = session.slot.history.depth == 0
    return (
        (f"{nudge} ..", "nudge" if not first else "raise, neutral, lower red; each column has its own"),
        (keys.first("accept"), "balanced, on"),
        (keys.first("auto"), "auto"),
        (keys.first("undo"), "undo"),
        (f"{keys.first('zone.shadows')}-{keys.first('zone.whole')}", "zone"),
        (turn, "bank"),
        (keys.first("before"), "before"),
        (keys.first("help"), "help"),
        (keys.first("quit"), "quit"),
    )
