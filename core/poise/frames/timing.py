"""A picture's place in time by its own header: timecode and frame rate."""

import math
from dataclasses import dataclass
from fractions import Fraction

_NOMINAL = 1000
"""The most frames a second that a header is believed."""


@dataclass(frozen=True)
class Timing:
    """The place of a frame in time.

    Attributes:
        rate: frames a second; None if the header doesn't tell.
        timecode: of the frame (SMPTE ST 12-1); empty if the header doesn't tell.
    """

    rate: Fraction | None = None
    timecode: str = ""


UNTIMED = Timing()


def from_digits(word: int, drop: bool = False) -> str:
    """A timecode by its eight digits, four bits each; empty if they are no time.

    Args:
        drop: whether it drops frames, which a `;` before them says.

    Source: SMPTE ST 12-1, 6.3 (hours to 23, minutes and seconds to 59).

    Example:
        >>> from_digits(0x10205906), from_digits(0x99000000)
        ('10:20:59:06', '')
    """
    text = f"{word:08x}"
    if len(text) != 8 or not text.isdecimal():
        return ""
    hours, minutes, seconds, frames = (text[place : place + 2] for place in range(0, 8, 2))
    there = hours < "24" and minutes < "60" and seconds < "60"
    return f"{hours}:{minutes}:{seconds}{';' if drop else ':'}{frames}" if there else ""


def to_digits(timecode: str) -> int | None:
    """The inverse of `from_digits`; None if there is no timecode.

    Example:
        >>> hex(to_digits("10:20:59:06"))
        '0x10205906'
    """
    digits = "".join(one for one in timecode if one.isdecimal())
    return int(digits, 16) if len(digits) == 8 else None


def from_number(rate: float) -> Fraction | None:
    """A frame rate that was stored as a decimal number; None if it is none.

    One near n x 1000/1001 is that, as 23.976 for 24000/1001 (SMPTE ST 12-1, 4).

    Example:
        >>> from_number(23.976), from_number(25.0), from_number(0.0)
        (Fraction(24000, 1001), Fraction(25, 1), None)
    """
    if not math.isfinite(rate) or not 0 < rate <= _NOMINAL:
        return None
    whole = round(rate * 1.001)
    slowed = Fraction(whole * 1000, 1001)
    if whole and whole != round(rate, 4) and abs(rate - slowed) < 0.005:
        return slowed
    return Fraction(rate).limit_denominator(1000)
