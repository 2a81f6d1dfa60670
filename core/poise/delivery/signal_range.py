"""Faults of the signal range, as in EBU R 103, by the codes of the delivered picture.

EBU R 103 states its ends in codes of narrow range: 5..246 of 8 bits and 20..984 of 10, which is -5 % .. 105 % of the
way from black to white, rounded outward; 12 bits come out at 80..3936 (from memory). Up to 1 % of the picture may lie
outside. Codes of full range go from 0 % to 100 % and can't leave -5 % .. 105 %; floats are checked by level.
"""

from dataclasses import dataclass
from functools import reduce
from math import ceil, floor
from typing import Any

import numpy as np
import numpy.typing as npt

from poise.correction.model import Encoding
from poise.delivery.clipping import black_and_white
from poise.delivery.fault import Fault
from poise.delivery.limits import Limits
from poise.frames.frame import Depth

R103 = (-5.0, 105.0)
"""EBU R 103: per cent of the way from black to white."""


@dataclass(frozen=True)
class Ends:
    """The lowest and highest values allowed, in codes of a depth, or as levels where 1 is white."""

    low: float
    high: float
    codes: bool

    def __str__(self) -> str:
        """The ends as text.

        Example:
            >>> str(Ends(20, 984, True)), str(Ends(-0.05, 1.05, False))
            ('20..984', '-5 % .. 105 %')
        """
        return f"{self.low:g}..{self.high:g}" if self.codes else f"{100 * self.low:g} % .. {100 * self.high:g} %"


def ends(lowest: float, highest: float, range: str, depth: Depth) -> Ends:
    """The ends of a range, rounded outward to whole codes.

    Args:
        lowest, highest: per cent of the way from black to white.
        range: full or narrow.

    Example:
        >>> ends(-5, 105, "narrow", Depth.U8), ends(-5, 105, "narrow", Depth.U10)
        (Ends(low=5, high=246, codes=True), Ends(low=20, high=984, codes=True))
    """
    if depth.is_float:
        return Ends(lowest / 100, highest / 100, False)
    black, white = black_and_white(range, depth)
    return Ends(_code(floor, black, white, lowest), _code(ceil, black, white, highest), True)


def _code(whole: Any, black: float, white: float, level: float) -> int:
    return int(whole(round(black + level / 100 * (white - black), 9)))


def outside(picture: npt.NDArray[Any], within: Ends) -> int:
    """The number of pixels with a channel outside; pixels with NaN or infinity don't count.

    Args:
        picture: (height, width, 1 or 3) codes, or levels as float.

    Example:
        >>> outside(np.array([[[19, 64, 64], [20, 984, 64]]], np.uint16), Ends(20, 984, True))
        1
    """
    if within.codes:
        kind = np.iinfo(picture.dtype)
        if within.low <= kind.min and within.high >= kind.max:
            return 0
    planes = np.moveaxis(picture, 2, 0)  # channel by channel is several times as fast
    low, high = reduce(np.minimum, planes), reduce(np.maximum, planes)
    beyond = (low < within.low) | (high > within.high)
    if not within.codes:
        beyond &= np.isfinite(picture).all(axis=2)
    return int(np.count_nonzero(beyond))


def faults(
    file: str, share: float, within: Ends | None, encoding: Encoding, limits: Limits, range_unknown: bool = False
) -> list[Fault]:
    """The faults of the signal range of a delivered picture.

    Args:
        share: pixels outside, in per cent.
        within: the allowed ends; None if the limits have none.
        encoding: the encoding of the picture.
        range_unknown: whether nothing tells the range of its codes, which the limits ask for.
    """
    found: list[Fault] = []
    wanted, limit = limits.range, limits["outside"]
    if range_unknown:
        words = (
            "neither a manifest, a stamp nor its header says whether its codes are of full or narrow range; "
            "say it with --range full or --range narrow, in the app with :range"
        )
        return [Fault(file, "range", "unknown", wanted, "", limits.name, words)]
    if within is not None and within.codes and wanted not in (None, encoding.range):
        words = (
            f"its encoding has {encoding.range} range, and {limits.name} requires {wanted}; "
            f"set the range that it really has (:range {wanted}), then check its levels again"
        )
        found.append(Fault(file, "range", encoding.range, wanted, "", limits.name, words))
    if within is not None and limit is not None and share > limit.value:
        what = "codes" if within.codes else "levels"
        kind = f", {encoding.range} range" if within.codes else ""
        words = (
            f"{share:.2f} % of the picture has {what} outside {within}{kind}; {limit.value:g} % is allowed; "
            "make the black point smaller or the white point larger, or reduce saturation"
        )
        found += limits.check(file, "outside", share, words)
    return found
