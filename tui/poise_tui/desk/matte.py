"""Columns of the current matte: its ranges, its edge, and the correction inside."""

from dataclasses import replace as replaced

from msgspec.structs import replace

from poise.correction import Control, Correction, Inside, Interval, Matte
from poise.correction import controls as c
from poise.correction.model import HueInterval
from poise.errors import PoiseError
from poise_tui.desk.balance import ALL, zoned
from poise_tui.desk.column import Column, Lens, got, plain, stepped
from poise_tui.desk.hand import Hand

ROUND = 360.0


def place_of(correction: Correction, hand: Hand) -> int:
    """The index of the current matte; the number of mattes means one still to be made."""
    return min(hand.matte, len(correction.mattes))


def matte_of(correction: Correction, hand: Hand) -> Matte | None:
    """The current matte; None while it is still to be made."""
    place = place_of(correction, hand)
    return correction.mattes[place] if place < len(correction.mattes) else None


def with_matte(correction: Correction, hand: Hand, matte: Matte) -> Correction:
    """The correction with the current matte replaced."""
    place = place_of(correction, hand)
    return replace(correction, mattes=(*correction.mattes[:place], matte, *correction.mattes[place + 1 :]))


def present(correction: Correction, hand: Hand) -> Matte:
    """The current matte.

    Raises:
        PoiseError: it is still to be made.
    """
    found = matte_of(correction, hand)
    if found is None:
        raise PoiseError("no matte yet: point at a colour with the arrows, enter keys it")
    return found


MATTE = Lens(present, with_matte)


def _inside(correction: Correction, hand: Hand, changed: Inside) -> Correction:
    return with_matte(correction, hand, replace(present(correction, hand), inside=changed))


INSIDE = Lens(lambda correction, hand: present(correction, hand).inside, _inside)


def _hue(name: str, control: Control) -> Column:
    """A column of one end of the hue range, which moves around the circle until the range is full or has no width."""
    low = control is c.HUE_LOW

    def nudged(correction: Correction, hand: Hand, steps: float) -> Correction:
        matte = present(correction, hand)
        by = control.step * steps * (-1 if low else 1)
        return with_matte(correction, hand, replace(matte, hue=widened(matte.hue, by, low)))

    def home(correction: Correction, hand: Hand) -> Correction:
        matte = present(correction, hand)
        return with_matte(correction, hand, replace(matte, hue=replace(matte.hue, low=0.0, high=ROUND)))

    return replaced(plain(name, control, coloured=True, part=MATTE), nudged=nudged, home=home)


def widened(hue: HueInterval, by: float, low: bool) -> HueInterval:
    """A hue range with one end moved outwards by degrees, or inwards if negative.

    Example:
        >>> widened(HueInterval(350.0, 20.0), -20, low=True), widened(HueInterval(350.0, 20.0), -40, low=False).high
        (HueInterval(low=10.0, high=20.0, soft=0.0), 350.0)
    """
    width = ROUND if (hue.low, hue.high) == (0, ROUND) else (hue.high - hue.low) % ROUND
    to = max(width + by, 0.0)
    if to >= ROUND:
        return replace(hue, low=0.0, high=ROUND)
    if low:  # at no width, a low end of 360 must not become 0, which would make the range the whole circle
        return replace(hue, low=round((hue.high - to) % ROUND, 9) if to else hue.high)
    return replace(hue, high=round((hue.low + to) % ROUND, 9))


def _end(name: str, control: Control, coloured: bool = False) -> Column:
    """A column of one end of the chroma or luma range; low never passes high."""
    part, _, end = control.path.partition(".")

    def set_(correction: Correction, hand: Hand, value: float) -> Correction:
        matte = present(correction, hand)
        interval: Interval = getattr(matte, part)
        held = min(value, interval.high) if end == "low" else max(value, interval.low)
        return with_matte(correction, hand, replace(matte, **{part: replace(interval, **{end: control.clamp(held)})}))

    def nudged(correction: Correction, hand: Hand, steps: float) -> Correction:
        value = float(got(present(correction, hand), control.path))
        return set_(correction, hand, stepped(control, value, steps))

    def home(correction: Correction, hand: Hand) -> Correction:
        return set_(correction, hand, control.neutral)

    def write(correction: Correction, hand: Hand, value: float) -> Correction:
        interval: Interval = replace(getattr(present(correction, hand), part), **{end: value})
        if interval.low > interval.high:
            ends = f"{part} from {interval.low:g} to {interval.high:g}"
            raise PoiseError(f"{ends} would select nothing: set the other end first")
        return number.number.write(correction, hand, value)

    number = plain(name, control, coloured, MATTE)
    return replaced(number, nudged=nudged, home=home, number=replaced(number.number, write=write))


RANGE = (
    _hue("hue low", c.HUE_LOW),
    _hue("hue high", c.HUE_HIGH),
    plain("hue soft", c.HUE_SOFT, coloured=True, part=MATTE),
    _end("chroma low", c.CHROMA_LOW, coloured=True),
    _end("chroma high", c.CHROMA_HIGH, coloured=True),
    plain("chroma soft", c.CHROMA_SOFT, coloured=True, part=MATTE),
    _end("luma low", c.LUMA_LOW),
    _end("luma high", c.LUMA_HIGH),
    plain("luma soft", c.LUMA_SOFT, part=MATTE),
)
EDGE = (plain("denoise", c.DENOISE, part=MATTE), plain("blur", c.BLUR, part=MATTE))
WITHIN = (
    zoned("red", (0,), INSIDE),
    zoned("green", (1,), INSIDE),
    zoned("blue", (2,), INSIDE),
    zoned("level", ALL, INSIDE),
    plain("hue turn", c.TURN, coloured=True, part=MATTE),
    None,
    plain("exposure", c.INSIDE_EXPOSURE, part=MATTE),
    None,
    plain("saturation", c.INSIDE_SATURATION, part=MATTE),
)
"""A control that balance mode has too is in the same column here."""
