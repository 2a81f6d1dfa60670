"""Nudges: the small steps by which a person moves slope, offset and power, by zone.

Shadows move with white held, highlights with black held, midtones with both ends held, the whole trace all alike
(DESIGN: balance nudges by zone). A nudge on all three channels is a change of level.
"""

from enum import Enum

from msgspec.structs import replace

from poise.correction.controls import OFFSET, POWER, SLOPE
from poise.correction.model import Balance

Triple = tuple[float, float, float]


class Zone(Enum):
    """The part of the tonal scale that a balance nudge moves."""

    SHADOWS = "shadows"
    MIDTONES = "midtones"
    HIGHLIGHTS = "highlights"
    WHOLE = "whole trace"


def nudge(balance: Balance, zone: Zone, channels: tuple[int, ...], steps: float) -> Balance:
    """Balance moved by a number of steps in one zone, for the given channels (0 red, 1 green, 2 blue).

    Shadows by d: slope *= 1 - d, offset = offset (1 - d) + d. Highlights by g: slope and offset *= g. Midtones by g:
    power /= g. Whole trace by d: offset += d. d = 0.005 steps, g = 1.01 ^ steps. Results stay inside the limits.

    Example:
        >>> nudge(Balance(), Zone.WHOLE, (0, 1, 2), 2).offset
        (0.01, 0.01, 0.01)
    """
    slope, offset, power = list(balance.slope), list(balance.offset), list(balance.power)
    shift = OFFSET.step * steps
    gain = SLOPE.step**steps
    for i in channels:
        match zone:
            case Zone.SHADOWS:
                slope[i], offset[i] = slope[i] * (1 - shift), offset[i] * (1 - shift) + shift
            case Zone.HIGHLIGHTS:
                slope[i], offset[i] = slope[i] * gain, offset[i] * gain
            case Zone.MIDTONES:
                power[i] /= gain
            case Zone.WHOLE:
                offset[i] += shift
    return replace(
        balance,
        slope=tuple(map(SLOPE.clamp, slope)),
        offset=tuple(map(OFFSET.clamp, offset)),
        power=tuple(map(POWER.clamp, power)),
    )
