"""Pixels that a correction crushes or clips, without those that were at black or white in the source."""

from dataclasses import dataclass

from poise.colour.ranges import narrow_codes
from poise.delivery.fault import Fault
from poise.delivery.limits import Limits
from poise.frames.frame import Depth, Pixels
from poise.scopes.clipping import count_clipped


@dataclass(frozen=True)
class ClippingLoss:
    """Shares of pixels, in per cent, with a channel at an end of the range that it had not reached in the source.

    Attributes:
        crushed: a channel is at or below black.
        clipped: a channel is at or above white.
    """

    crushed: float = 0.0
    clipped: float = 0.0


NO_LOSS = ClippingLoss()


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


def loss_of(source: Pixels, work: Pixels, range: str, depth: Depth) -> ClippingLoss:
    """The loss between a picture and the same picture corrected, in work code.

    Args:
        source: (height, width, 1 or 3) codes of `depth`.
        work: of the same shape, in codes up to the maximum of `depth`, or as levels.
        range: of the source, full or narrow.
    """
    if not source.size:
        return ClippingLoss()
    white = 1 if work.dtype.kind == "f" else depth.maximum
    crushed, clipped = count_clipped(source, work, black_and_white(range, depth), (0, white))
    share = 100 / (source.shape[0] * source.shape[1])
    return ClippingLoss(crushed * share, clipped * share)


def faults(file: str, loss: ClippingLoss, limits: Limits) -> list[Fault]:
    """The faults of a loss beyond the limits."""
    found: list[Fault] = []
    for name, share, end, do in (
        ("crushed", loss.crushed, "black", "make the black point smaller or lift the shadows"),
        ("clipped", loss.clipped, "white", "make the white point larger or lower the highlights"),
    ):
        words = f"the correction moves {share:.2f} % of the picture to {end} that is not {end} in the source; {do}"
        found += limits.check(file, name, share, words)
    return found
