"""The cast of a picture's near-neutrals: which hue they lean to, and how far.

Common practice, no published source: what is meant to be grey is most likely among the least colourful quarter of the
pixels that are neither near black nor near white.
"""

from dataclasses import dataclass, field
from math import nan

import numpy as np

from poise.colour import luma as y
from poise.scopes.signal import Levels, Signal
from poise.scopes.vectorscope import targets

DARKEST, LIGHTEST = 0.05, 0.95
"""Near-neutrals are looked for between these levels of luma."""
LEAST_COLOURFUL = 25
"""Per cent of those pixels, by chroma, that count as near-neutral: a tinted grey picture still has some."""
REACH = 0.25
"""The chroma beyond which nothing counts as near-neutral: a picture that is all one colour has none."""
NOTICEABLE = 0.5
"""Per cent of full signal below which a cast has no name."""


@dataclass(frozen=True)
class Cast:
    """What near-neutrals lean to.

    Attributes:
        hue: red, yellow, green, cyan, blue or magenta, by the nearest BT.709 bar; none below NOTICEABLE, or if the
            picture has no near-neutrals.
        angle: degrees on the Cb/Cr plane, 0..360; NaN if there are no near-neutrals.
        amount: chroma, in per cent of full signal; NaN if there are no near-neutrals.
    """

    hue: str
    angle: float
    amount: float


@dataclass
class Neutrals:
    """Gathers a picture, signal by signal, and then tells its cast and its mean chroma."""

    _near: list[Levels] = field(default_factory=list)
    _between: int = 0
    _pixels: int = 0
    _chroma: float = 0.0

    def add(self, signal: Signal) -> None:
        """Take in the next part of the picture."""
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
        """The median Cb and Cr of the near-neutrals."""
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
