"""The column of warmth; at the limits of warmth it goes on by the highlights' balance, as auto does by slope."""

from dataclasses import replace as replaced
from math import log

from msgspec.structs import replace

from poise.correction import Correction, Zone, nudge
from poise.correction.controls import SLOPE, WARMTH
from poise_tui.desk.column import Column, plain, stepped
from poise_tui.desk.hand import Hand

RED, BLUE = (0,), (2,)
LOW, HIGH = WARMTH.low / WARMTH.step, WARMTH.high / WARMTH.step
"""The limits of warmth, in steps."""
MOST = 92
"""Steps that the highlights go on: to a slope of 2.5, which is as far as auto goes."""
NEAR = 1e-9


def beyond(correction: Correction) -> float:
    """How many steps red and blue highlights go on from the limit at which warmth stands; below 0 if cooler.

    A step of warmth moves red and blue by about 1 % each way in code value (red 0.9 %, blue 1.3 % at a warmth of 0),
    and a step of the highlights by 1 %.

    Example:
        >>> beyond(Correction())
        0.0
    """
    warmth, (red, _, blue) = correction.light.warmth, correction.balance.slope
    if warmth not in (WARMTH.low, WARMTH.high) or min(red, blue) <= 0:
        return 0.0
    steps = log(red / blue) / (2 * log(SLOPE.step))
    return max(steps, 0.0) if warmth == WARMTH.high else min(steps, 0.0)


def _nudged(correction: Correction, hand: Hand, steps: float) -> Correction:
    """Warmth as far as it goes, highlights for the rest; the way back is the same."""
    over, warmth = beyond(correction), correction.light.warmth
    to = warmth / WARMTH.step + over + steps
    at = min(max(to, LOW), HIGH)
    left = min(max(to - at, min(over, -MOST)), max(over, MOST))
    went = left - over
    if abs(went) < NEAR:
        return _warmed(correction, stepped(WARMTH, warmth, steps))
    balance = nudge(nudge(correction.balance, Zone.HIGHLIGHTS, RED, went), Zone.HIGHLIGHTS, BLUE, -went)
    return _warmed(replace(correction, balance=balance), WARMTH.clamp(WARMTH.step * at))


def _home(correction: Correction, hand: Hand) -> Correction:
    return _warmed(_nudged(correction, hand, -beyond(correction)), WARMTH.neutral)


def _warmed(correction: Correction, warmth: float) -> Correction:
    return replace(correction, light=replace(correction.light, warmth=warmth))


def _read(correction: Correction, hand: Hand) -> tuple[str, str]:
    value, unit = _PLAIN.read(correction, hand)
    return value, f"{unit} *" if abs(beyond(correction)) > NEAR else unit


def _note(before: Correction, after: Correction) -> str:
    """A message if the highlights moved."""
    if before.balance == after.balance:
        return ""
    limit = WARMTH.low if before.light.warmth + after.light.warmth < 0 else WARMTH.high
    return f"warmth ends at {limit:+g} mired: from there on red and blue of the highlights move"


_PLAIN = plain("warmth", WARMTH, coloured=True)
COLUMN: Column = replaced(_PLAIN, nudged=_nudged, home=_home, read=_read, note=_note)
