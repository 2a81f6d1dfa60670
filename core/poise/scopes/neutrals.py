"""The cast of a picture: the hue and chroma of its near-neutral pixels.

Common practice, no source: greys are most likely among the least colourful quarter of the pixels that are neither near
black nor near white.
"""

from dataclasses import dataclass, field
from math import nan

import numpy as np

from poise.colour import luma as y
from poise.scopes.signal import Levels, Signal
from poise.scopes.vectorscope import targets

DARKEST, LIGHTEST = 0.05, 0.95
"""Near-neutrals have a luma between these levels."""
LEAST_COLOURFUL = 25
"""The per cent of those pixels, by chroma, that count as near-neutral; so a tinted grey picture still has some."""
REACH = 0.25
"""The largest chroma of a near-neutral; so a picture of one strong colour has none."""
NOTICEABLE = 0.5
"""The smallest cast, in per cent of full signal, that is named by hue."""


@dataclass(frozen=True)
class Cast:
    """The median colour of the near-neutrals.

    Attributes:
        hue: red, yellow, green, cyan, blue or magenta, whichever BT.709 bar is nearest; "none" below NOTICEABLE, or if
            there are no near-neutrals.
        angle: degrees on the Cb/Cr plane, 0..360; NaN if there are no near-neutrals.
        amount: chroma, in per cent of full signal; NaN if there are no near-neutrals.
    """

    hue: str
    angle: float
    amount: float


@dataclass
class Neutrals:
    """Collects a picture part by part, then computes its cast and mean chroma."""

    _near: list[Levels] = field(default_factory=list)
    _between: int = 0
    _pixels: int = 0
    _chroma: float = 0.0

    def add(self, signal: Signal) -> None:
        """Add a part of the picture."""
        cb, cr = signal.differences()
        chroma = np.sqrt(cb * cb + cr * cr)
        self._pixels += chroma.size
        self._chroma += float(chroma.sum(dtype=np.float64))
        between = (signal.levels[0] >= DARKEST) & (signal.levels[0] <= LIGHTEST)
        self._between += int(np.count_nonzero(between))
        near = between & (chroma <= REACH)
        self._near.append(np.stack([cb[near], cr[near], chroma[near]]))

    @property
    def saturation(self) -> float:
        """Mean chroma of all pixels, in per cent of full signal; NaN for no pixels."""
        return 100 * self._chroma / self._pixels if self._pixels else nan

    def cast(self) -> Cast:
        """The cast, from the median Cb and Cr of the near-neutrals."""
        cb, cr, chroma = np.concatenate(self._near, axis=1)
        if not chroma.size:
            return Cast("none", nan, nan)
        rank = self._between * LEAST_COLOURFUL // 100
        if rank < chroma.size:
            close = chroma <= np.partition(chroma, rank)[rank]
            cb, cr = cb[close], cr[close]
        lean = float(np.median(cb)), float(np.median(cr))
        angle, amount = float(y.hue(*lean)), 100 * float(y.chroma(*lean))
        return Cast(hue_name(angle) if amount >= NOTICEABLE else "none", angle, amount)


def hue_name(angle: float) -> str:
    """The BT.709 colour bar nearest to a hue angle in degrees.

    Example:
        >>> hue_name(350.0)
        'blue'
    """
    return min(targets(), key=lambda target: abs((target.angle - angle + 180) % 360 - 180)).name
