"""A matte as it is seen: its mask, the colours that it chooses from, and how far it covers."""

from dataclasses import dataclass
from dataclasses import replace as renewed
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from poise.colour.luma import BT709, Weights, luma
from poise.correction import Correction, Encoding
from poise.scopes import Colours, Coverage, colours, coverage
from poise.scopes.signal import Signal, split
from poise.scopes.vectorscope import vectorscope
from poise.scopes.waveform import Counts
from poise_tui.desk import Shown
from poise_tui.loading import Loaded
from poise_tui.view.work import Levels, Work, work

if TYPE_CHECKING:
    from poise.engine import Look

Mask = npt.NDArray[np.float32]

WHOLE = 0.5
"""From this share on a pixel counts as keyed on the vectorscope."""


@dataclass(frozen=True, eq=False)
class Keyed:
    """A matte on a proxy, or on its sample.

    Attributes:
        under: (height, width, 1 or 3) work code that the matte is keyed on, with the mattes before it.
        mask: (height, width), 0..1; None while there is no matte.
        colours: of all of the picture, behind the ranges.
        seen: what the cursor reads: the same, or what comes out behind all mattes.
        cloud, taken: of all of that picture, and of what is keyed in it, as the vectorscope shows it.
        by: what luma is weighed by.
    """

    under: Levels
    seen: Levels
    mask: Mask | None
    colours: Colours
    cloud: Counts
    taken: Counts | None
    coverage: Coverage | None
    by: Weights = BT709

    def picture(self, result: Levels, shown: Shown, inverted: bool, step: int) -> Levels:
        """What the picture shows: the result, the matte alone, or the keyed colour with all else grey.

        Args:
            result: (height, width, 1 or 3) every so many pixels.
            inverted: the other way round, for showing only.
            step: how many those are.
        """
        if self.mask is None or shown == "result":
            return result
        mask = self.mask[::step, ::step, None]
        mask = 1 - mask if inverted else mask
        if shown == "matte":
            return mask
        under = self.under[::step, ::step]
        with np.errstate(invalid="ignore"):  # infinite pixels of a float picture
            red, green, blue = np.moveaxis(np.broadcast_to(under, (*under.shape[:2], 3)), 2, 0)
            grey = luma(red, green, blue, self.by)[..., None]
            return np.asarray(grey + mask * (under - grey), np.float32)


def keyed(
    loaded: Loaded,
    correction: Correction,
    encoding: Encoding,
    size: int,
    place: int | None,
    rough: bool,
    inside: bool = False,
) -> tuple[Work, Keyed]:
    """Key a proxy, or its sample; the result behind all mattes, and the matte.

    Args:
        size: of the vectorscope.
        place: of the matte among those of the correction; None for one still to be made behind them.
        inside: count what comes out, not what the matte is keyed on.

    Raises:
        PoiseError: the correction or the encoding can't be applied to this picture.
    """
    look = None if place is None else _look(loaded, correction, encoding, place, rough)
    if look is None or loaded.grey:  # where channels are one, the engine says what can't be done to them
        made = work(loaded, correction, encoding, rough)
    else:
        made = Work(look.result, None, encoding.work_primaries)
    signal = split(look.under, None, made.primaries) if look else split(made.pixels, made.maximum, made.primaries)
    found = colours(_thinned(signal) if rough else signal)
    if look is None:
        levels = made.levels()
        return made, Keyed(levels, levels, None, found, vectorscope(signal, size), None, None, signal.weights)
    under = look.under[..., :1] if loaded.grey else look.under
    seen = made.levels() if inside else under
    shown = split(seen, None, made.primaries) if inside else signal
    chosen = look.mask.ravel() >= WHOLE
    own = renewed(shown, levels=shown.levels[:, chosen if shown.kept is None else chosen[shown.kept]])
    cloud, taken = vectorscope(shown, size), vectorscope(own, size)
    return made, Keyed(under, seen, look.mask, found, cloud, taken, coverage(look.mask, look.keyed), signal.weights)


def _thinned(signal: Signal) -> Signal:
    """Every third pixel: enough for a distribution that stands behind the ranges while keys follow each other."""
    return renewed(signal, levels=signal.levels[:, ::3])


def _look(loaded: Loaded, correction: Correction, encoding: Encoding, place: int, rough: bool) -> "Look":
    from poise.engine import COARSE, matte_of  # not before the first paint

    pixels, depth = loaded.seen(rough)
    return matte_of(correction, place, encoding, depth, entries=COARSE).look(pixels)
