"""Nudges: the small steps that move slope, offset and power, by zone.

Shadows keep white fixed, highlights keep black fixed, midtones keep both ends fixed, the whole trace shifts everything.
A nudge of all three channels changes the level.
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
    """The balance, nudged in one zone; results are clamped to the limits.

    With d = 0.005 steps and g = 1.01 ^ steps, shadows: slope *= 1 - d, offset = offset (1 - d) + d; highlights: slope
    and offset *= g; midtones: power /= g; whole trace: offset += d.

    Args:
        channels: 0 red, 1 green, 2 blue.
        steps: how many steps, negative for down; fractions are allowed.

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
