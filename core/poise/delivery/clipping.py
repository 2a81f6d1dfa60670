"""What a correction lost: pixels that it crushed or clipped, not those that the camera had at the ends already."""

from dataclasses import dataclass

from poise.colour.ranges import narrow_codes
from poise.delivery.fault import Fault
from poise.delivery.limits import Limits
from poise.frames.frame import Depth
from poise.scopes import Readings

CHANNELS = ("red", "green", "blue")


@dataclass(frozen=True)
class ClippingLoss:
    """Shares of the picture, in per cent, of which a channel reached an end that it had not reached in the source.

    Attributes:
        crushed: at or below black.
        clipped: at or above white.
    """

    crushed: float = 0.0
    clipped: float = 0.0


def black_and_white(range: str, depth: Depth) -> tuple[int, int]:
    """The codes of black and white; 0 and 1 for float.

    Example:
        >>> black_and_white("narrow", Depth.U10), black_and_white("full", Depth.U8)
        ((64, 940), (0, 255))
    """
    if range == "narrow" and not depth.is_float:
        return narrow_codes(depth.bits)
    return 0, depth.maximum


def between(before: Readings, after: Readings) -> ClippingLoss:
    """About what was lost, by the readings alone: what more lies at an end, in the channel where that is most."""

    def more(name: str) -> float:
        ends = [(getattr(before, one), getattr(after, one)) for one in CHANNELS]
        return float(max(0.0, *(getattr(now, name) - getattr(was, name) for was, now in ends)))

    return ClippingLoss(more("crushed"), more("clipped"))


def faults(file: str, lost: ClippingLoss, limits: Limits) -> list[Fault]:
    """What was lost beyond the limits."""
    found = []
    for name, share, end, do in (
        ("crushed", lost.crushed, "black", "lower the black point or lift the shadows"),
        ("clipped", lost.clipped, "white", "raise the white point or lower the highlights"),
    ):
        limit = limits[name]
        if limit is not None and share > limit.value:
            words = f"the correction brings {share:.2f} % of the picture to {end} that the source has apart; {do}"
            found.append(Fault(file, name, share, limit.value, limit.unit, limit.source, words, limit.caution))
    return found
