"""Faults of the levels of a shot: black, white, spread, cast, and values that are not finite."""

from poise.delivery.fault import Fault, shown
from poise.delivery.limits import Limits
from poise.scopes import Readings


def faults(file: str, readings: Readings, limits: Limits) -> list[Fault]:
    """The faults of readings beyond their limits.

    Example:
        faults("quay_02.tif", measure(picture), load("baseline"))
    """
    luma, spread, cast = readings.luma, readings.spread, readings.cast
    lean = f"near-neutrals lean to {cast.hue} by {cast.amount:.1f} %; add the complement to remove it"
    invalid = f"{shown(readings.invalid, '%')} of the picture is not a number or infinite; render it again"
    rows = (
        ("invalid", readings.invalid, invalid),
        ("black-under", luma.black, f"black of luma is at {luma.black:.1f} %; make the black point smaller"),
        ("black-over", luma.black, f"black of luma is at {luma.black:.1f} %; make the black point larger"),
        ("white-under", luma.white, f"white of luma is at {luma.white:.1f} %; make the white point smaller"),
        ("white-over", luma.white, f"white of luma is at {luma.white:.1f} %; make the white point larger"),
        ("spread-bottom", spread.bottom, _spread(spread.bottom, "black", "shadows")),
        ("spread-middle", spread.middle, _spread(spread.middle, "the middle", "midtones")),
        ("spread-top", spread.top, _spread(spread.top, "white", "highlights")),
        ("cast", cast.amount, lean),
    )
    return [fault for name, value, words in rows for fault in limits.check(file, name, value, words)]


def _spread(value: float, where: str, zone: str) -> str:
    return f"red, green and blue differ by {value:.1f} % at {where}; level them in the {zone} if that should be neutral"
