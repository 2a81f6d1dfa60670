"""Timecode and frame rate in the attributes of an OpenEXR file.

Source: "Standard Attributes" (openexr.com), `timeCode` and `framesPerSecond`; SMPTE ST 12-1, 9 (bits of the time word).
"""

import struct
from fractions import Fraction

from poise.frames.codecs.exr.file import Attributes
from poise.frames.timing import Timing, from_digits, to_digits

TIMES = (b"timeCode", b"framesPerSecond")
_DIGITS, _DROP = 0x3F7F7F3F, 0x40
"""The bits of the digits in the time word, and the flag that frames are dropped; the rest are other flags."""


def from_attributes(attributes: Attributes) -> Timing:
    """What the attributes of a part tell; an attribute of another type or length tells nothing."""
    (kind, value), (unit, rate) = (attributes.get(name, (b"", b"")) for name in TIMES)
    text, fraction = "", None
    if kind == b"timecode" and len(value) == 8:
        (word,) = struct.unpack_from("<I", value)
        text = from_digits(word & _DIGITS, bool(word & _DROP))
    if unit == b"rational" and len(rate) == 8:
        over, under = struct.unpack("<iI", rate)
        fraction = Fraction(over, under) if over > 0 and under else None
    return Timing(fraction, text)


def to_attributes(timing: Timing) -> Attributes:
    """The attributes of a new file."""
    found = {}
    if (word := to_digits(timing.timecode)) is not None:
        drop = _DROP if timing.timecode[-3] in ";." else 0
        found[b"timeCode"] = b"timecode", struct.pack("<II", word & _DIGITS | drop, 0)
    if timing.rate:
        found[b"framesPerSecond"] = b"rational", struct.pack("<iI", timing.rate.numerator, timing.rate.denominator)
    return found
