"""Pixels that a correction crushes or clips, without those that were at black or white in the source."""

from dataclasses import dataclass

from poise.colour.ranges import narrow_codes
from poise.delivery.fault import Fault
from poise.delivery.limits import Limits
from poise.frames.frame import Depth
from poise.scopes import Readings

CHANNELS = ("red", "green", "blue")


@dataclass(frozen=True)
class ClippingLoss:
    """Shares of pixels, in per cent, with a channel at an end of the range that it had not reached in the source.

    Attributes:
        crushed: a channel is at or below black.
        clipped: a channel is at or above white.
    """

    crushed: float = 0.0
    clipped: float = 0.0


def black_and_white(range: str, depth: Depth) -> tuple[int, int]:
    """The codes of black and white; 0 and 1 for float.

    Args:
        range: full or narrow.

    Example:
        >>> black_and_white("narrow", Depth.U10), black_and_white("full", Depth.U8)
        ((64, 940), (0, 255))
    """
    if range == "narrow" and not depth.is_float:
        return narrow_codes(depth.bits)
    return 0, depth.maximum


def loss_between(before: Readings, after: Readings) -> ClippingLoss:
    """Estimate the loss from readings alone: the increase at each end, in the channel where it is largest."""

    def more(name: str) -> float:
        ends = [(getattr(before, one), getattr(after, one)) for one in CHANNELS]
        return float(max(0.0, *(getattr(now, name) - getattr(was, name) for was, now in ends)))

    return ClippingLoss(more("crushed"), more("clipped"))


def faults(file: str, loss: ClippingLoss, limits: Limits) -> list[Fault]:
    """The faults of a loss beyond the limits."""
    found: list[Fault] = []
    for name, share, end, do in (
        ("crushed", loss.crushed, "black", "lower the black point or lift the shadows"),
        ("clipped", loss.clipped, "white", "raise the white point or lower the highlights"),
    ):
        words = f"the correction moves {share:.2f} % of the picture to {end} that is not {end} in the source; {do}"
        found += limits.check(file, name, share, words)
    return found
