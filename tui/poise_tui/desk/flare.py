"""Columns of flare: the amount subtracted from red, green and blue, and the share of it subtracted in code value."""

from dataclasses import replace as replaced
from statistics import fmean as mean

from msgspec.structs import replace

from poise.correction import Correction
from poise.correction import controls as c
from poise_tui.desk.column import Column, Number, number, plain, stepped
from poise_tui.desk.hand import Hand


def _flare(name: str, channels: tuple[int, ...]) -> Column:
    """A column of the flare of some channels; raising it raises the trace, so that less is subtracted."""

    def to(correction: Correction, values: dict[int, float]) -> Correction:
        red, green, blue = (values.get(i, value) for i, value in enumerate(correction.light.flare))
        return replace(correction, light=replace(correction.light, flare=(red, green, blue)))

    def nudged(correction: Correction, hand: Hand, steps: float) -> Correction:
        return to(correction, {i: stepped(c.FLARE, correction.light.flare[i], -steps) for i in channels})

    def read(correction: Correction, hand: Hand) -> tuple[str, str]:
        taken = [correction.light.flare[i] for i in channels]
        return ("~" if len(set(taken)) > 1 else "") + number(c.FLARE, mean(taken)), c.FLARE.unit

    return Column(
        name,
        len(channels) == 1,
        nudged,
        lambda correction, hand: to(correction, dict.fromkeys(channels, c.FLARE.neutral)),
        read,
        Number(
            lambda hand: c.FLARE,
            lambda correction, hand: mean(correction.light.flare[i] for i in channels),
            lambda correction, hand, value: to(correction, dict.fromkeys(channels, value)),
        ),
    )


FLARE = (
    _flare("flare red", (0,)),
    _flare("flare green", (1,)),
    _flare("flare blue", (2,)),
    _flare("flare all", (0, 1, 2)),
)
"""In the columns of red, green, blue and level."""


def _share() -> Column:
    """The column of the share; raising it raises the trace: what comes off in light leaves the midtones higher."""
    number = plain("flare in code", c.FLARE_IN_CODE)
    return replaced(number, nudged=lambda correction, hand, steps: number.nudged(correction, hand, -steps))


SHARE = _share()
