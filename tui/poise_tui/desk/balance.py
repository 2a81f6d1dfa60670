"""Columns that balance a shot: light, balance by zone, contrast, saturation, tone, flare, black and white point."""

from dataclasses import replace as replaced
from statistics import fmean as mean

from msgspec.structs import replace

from poise.correction import Balance, Control, Correction, Levels, Zone, nudge
from poise.correction import controls as c
from poise_tui.desk import warmth
from poise_tui.desk.column import WHOLE, Column, Lens, Number, number, plain, stepped
from poise_tui.desk.flare import FLARE, SHARE
from poise_tui.desk.hand import Hand

ALL = (0, 1, 2)
SHADOWS = replaced(c.OFFSET, high=0.95)
"""The offset of the shadows, which are raised with white held."""


def zoned(name: str, channels: tuple[int, ...], part: Lens = WHOLE) -> Column:
    """A column that moves slope, offset and power of some channels by zone."""

    def balance(correction: Correction, hand: Hand) -> Balance:
        found: Balance = part.get(correction, hand).balance
        return found

    def to(correction: Correction, hand: Hand, changed: Balance) -> Correction:
        return part.put(correction, hand, replace(part.get(correction, hand), balance=changed))

    return Column(
        name,
        len(channels) == 1,
        lambda now, hand, steps: to(now, hand, nudge(balance(now, hand), hand.zone, channels, steps)),
        lambda now, hand: to(now, hand, _home(balance(now, hand), hand.zone, channels)),
        lambda now, hand: _read(balance(now, hand), hand.zone, channels),
        Number(
            lambda hand: _shown(hand.zone),
            lambda now, hand: mean(_values(balance(now, hand), hand.zone, channels)),
            lambda now, hand, value: to(now, hand, _written(balance(now, hand), hand.zone, channels, value)),
        ),
        zoned=True,
    )


def _home(balance: Balance, zone: Zone, channels: tuple[int, ...]) -> Balance:
    """Resets a zone by the same family of moves that its nudges use.

    Shadows: offset to 0, white held. Highlights: white to 1, black held. Midtones: power to 1. Whole trace: all three.
    """
    slope, offset, power = list(balance.slope), list(balance.offset), list(balance.power)
    for i in channels:
        white = slope[i] + offset[i]
        if zone is Zone.WHOLE:
            slope[i], offset[i], power[i] = 1.0, 0.0, 1.0
        elif zone is Zone.MIDTONES:
            power[i] = 1.0
        elif zone is Zone.SHADOWS and offset[i] < 1:
            slope[i], offset[i] = slope[i] / (1 - offset[i]), 0.0
        elif zone is Zone.HIGHLIGHTS and white > 0:
            slope[i], offset[i] = slope[i] / white, offset[i] / white
    return replace(
        balance,
        slope=tuple(map(c.SLOPE.clamp, slope)),
        offset=tuple(map(c.OFFSET.clamp, offset)),
        power=tuple(map(c.POWER.clamp, power)),
    )


def _read(balance: Balance, zone: Zone, channels: tuple[int, ...]) -> tuple[str, str]:
    control, taken = _shown(zone), _values(balance, zone, channels)
    unit = control.name if _only(balance, zone, channels) else f"{control.name} *"
    return ("~" if len(set(taken)) > 1 else "") + number(control, mean(taken)), unit


def _shown(zone: Zone) -> Control:
    """The control whose values show what a zone was moved by. In the shadows white is held, so black stays below it."""
    return {Zone.SHADOWS: SHADOWS, Zone.MIDTONES: c.POWER, Zone.HIGHLIGHTS: c.SLOPE}.get(zone, c.OFFSET)


def _values(balance: Balance, zone: Zone, channels: tuple[int, ...]) -> list[float]:
    values = getattr(balance, _shown(zone).name)
    return [values[i] for i in channels]


def _written(balance: Balance, zone: Zone, channels: tuple[int, ...], value: float) -> Balance:
    """Brings what a zone shows to a value, by the same family of moves that its nudges use."""
    slope, offset, power = list(balance.slope), list(balance.offset), list(balance.power)
    for i in channels:
        if zone is Zone.MIDTONES:
            power[i] = value
        elif zone is Zone.HIGHLIGHTS:
            slope[i], offset[i] = value, offset[i] * value / slope[i] if slope[i] else offset[i]
        else:
            left = (1 - value) / (1 - offset[i]) if zone is Zone.SHADOWS and offset[i] < 1 else 1.0
            slope[i], offset[i] = slope[i] * left, value
    return replace(
        balance,
        slope=tuple(map(c.SLOPE.clamp, slope)),
        offset=tuple(map(c.OFFSET.clamp, offset)),
        power=tuple(map(c.POWER.clamp, power)),
    )


def _only(balance: Balance, zone: Zone, channels: tuple[int, ...]) -> bool:
    """Whether these channels are neutral in all other zones, which the column does not show."""
    parts = {"offset": balance.offset, "power": balance.power, "slope": balance.slope}
    parts.pop({Zone.MIDTONES: "power", Zone.HIGHLIGHTS: "slope"}.get(zone, "offset"))
    neutral = {"offset": 0.0, "power": 1.0, "slope": 1.0}
    return all(values[i] == neutral[name] for name, values in parts.items() for i in channels)


def _point(name: str, control: Control) -> Column:
    """A column of the black or white point; raising it raises the trace, so it lowers the point.

    Neither point comes closer to the other than the model allows.
    """

    def held(levels: Levels, value: float) -> Levels:
        if control is c.BLACK:
            return replace(levels, black=control.clamp(min(value, levels.white - c.LEAST_RANGE)))
        return replace(levels, white=control.clamp(max(value, levels.black + c.LEAST_RANGE)))

    def nudged(correction: Correction, hand: Hand, steps: float) -> Correction:
        value = correction.levels.black if control is c.BLACK else correction.levels.white
        return replace(correction, levels=held(correction.levels, stepped(control, value, -steps)))

    def home(correction: Correction, hand: Hand) -> Correction:
        return replace(correction, levels=held(correction.levels, control.neutral))

    number = plain(name, control)
    return replaced(number, nudged=nudged, home=home)


def _pivot() -> Column:
    """The column of the pivot; raising it raises the trace: above a contrast of 1, a lower pivot does."""
    number = plain("pivot", c.PIVOT)

    def nudged(correction: Correction, hand: Hand, steps: float) -> Correction:
        return number.nudged(correction, hand, -steps if correction.levels.contrast > 1 else steps)

    return replaced(number, nudged=nudged)


TOE = plain("toe", c.TOE)
"""Replaces the shoulder while the zone is shadows."""

FIRST = (
    zoned("red", (0,)),
    zoned("green", (1,)),
    zoned("blue", (2,)),
    zoned("level", ALL),
    warmth.COLUMN,
    plain("magenta", c.MAGENTA, coloured=True),
    plain("exposure", c.EXPOSURE),
    plain("contrast", c.CONTRAST),
    plain("saturation", c.SATURATION),
    plain("shoulder", c.SHOULDER),
)
SECOND = (*FLARE, _point("black", c.BLACK), _point("white", c.WHITE), _pivot(), SHARE)
