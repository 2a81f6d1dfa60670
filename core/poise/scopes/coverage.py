"""Coverage: how much of a picture a matte selects, and how denoise and blur change its key."""

from dataclasses import asdict, dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

Plane = npt.NDArray[np.floating[Any]]

SPREADS_FAR = 20.0
"""Per cent of a matte's weight outside its key, from which denoise and blur did more than soften the edge (common
practice, no source)."""


@dataclass(frozen=True)
class Coverage:
    """The coverage of a matte, in per cent.

    Attributes:
        share: the mean of the matte.
        taken: the share of pixels where the matte is above 0.
        spread: the share of the matte's weight on pixels where the key is 0, to which denoise and blur spread it.
        lost: the share of the key's weight that the finished matte no longer has.
    """

    share: float
    taken: float
    spread: float
    lost: float

    @property
    def far(self) -> bool:
        """Whether the matte spreads far beyond its key."""
        return self.spread >= SPREADS_FAR

    def to_json(self) -> dict[str, float]:
        """The `coverage` object of `measure --json`: rounded to 4 decimals."""
        return {name: round(value, 4) for name, value in asdict(self).items()}


def coverage(matte: Plane, keyed: Plane) -> Coverage:
    """Compare a matte with the key that it was made from.

    Args:
        matte: (height, width), 0..1, the finished matte; may be an even sample.
        keyed: the same, before denoise and blur.

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
