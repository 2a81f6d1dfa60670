"""Coverage: how much of a picture a matte takes, and what denoise and blur do to what was keyed."""

from dataclasses import asdict, dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

Plane = npt.NDArray[np.floating[Any]]

SPREADS_FAR = 20.0
"""Per cent of a matte's weight: when so much lies outside the key, more than its edge was softened (common practice,
no source)."""


@dataclass(frozen=True)
class Coverage:
    """What a matte covers, in per cent.

    Attributes:
        share: mean of the matte.
        taken: share of pixels where the matte is above 0.
        spread: share of the matte's weight on pixels that the key leaves out: how far denoise and blur carry it over
            the edge.
        lost: share of the key's weight that the finished matte no longer has.
    """

    share: float
    taken: float
    spread: float
    lost: float

    @property
    def far(self) -> bool:
        """Whether the matte reaches far over the edge of what was keyed."""
        return self.spread >= SPREADS_FAR

    def to_json(self) -> dict[str, float]:
        """The `coverage` object of `measure --json`: rounded to 4 decimals."""
        return {name: round(value, 4) for name, value in asdict(self).items()}


def coverage(matte: Plane, keyed: Plane) -> Coverage:
    """Measure a matte against the key that it was made of.

    Args:
        matte, keyed: (height, width), 0..1: the finished matte, and the key before denoise and blur. Both may be evenly
            sampled.

    Example:
        >>> coverage(np.array([[0.5, 0.5, 0.0, 0.0]]), np.array([[1.0, 0.0, 0.0, 0.0]]))
        Coverage(share=25.0, taken=50.0, spread=50.0, lost=50.0)
    """
    weight = _sum(matte)
    return Coverage(
        share=_share(weight, matte.size),
        taken=_share(int(np.count_nonzero(matte > 0)), matte.size),
        spread=_share(_sum(matte[keyed == 0]), weight),
        lost=_share(_sum(np.maximum(keyed - matte, 0)), _sum(keyed)),
    )


def _sum(values: Plane) -> float:
    return float(values.sum(dtype=np.float64))


def _share(part: float, whole: float) -> float:
    return 100 * part / whole if whole else 0.0
