"""A matte as it is seen: its mask, the colours that it chooses from, and how far it covers."""

from dataclasses import dataclass
from dataclasses import replace as renewed

import numpy as np
import numpy.typing as npt
from msgspec.structs import replace

from poise.colour.luma import BT709, Weights, luma
from poise.correction import Correction, Encoding
from poise.scopes import Colours, Coverage, colours, coverage
from poise.scopes.signal import split
from poise.scopes.vectorscope import vectorscope
from poise.scopes.waveform import Counts
from poise_tui.desk import Shown
from poise_tui.loading import Loaded
from poise_tui.view.work import Levels, work

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
        cloud, taken: of all of the picture, and of what is keyed, as the vectorscope shows it.
        by: what luma is weighed by.
    """

    under: Levels
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
    loaded: Loaded, correction: Correction, encoding: Encoding, size: int, place: int | None, rough: bool
) -> Keyed:
    """Key a proxy, or its sample.

    Args:
        size: of the vectorscope.
        place: of the matte among those of the correction; None for one still to be made behind them.

    Raises:
        PoiseError: the correction or the encoding can't be applied to this picture.
    """
    mattes = correction.mattes if place is None else correction.mattes[:place]
    made = work(loaded, replace(correction, mattes=mattes), encoding, rough)
    signal = split(made.pixels, made.maximum, made.primaries)
    cloud, found = vectorscope(signal, size), colours(signal)
    if place is None:
        return Keyed(made.levels(), None, found, cloud, None, None, signal.weights)
    mask, key = _masks(loaded, correction, encoding, place, rough)
    chosen = mask.ravel() >= WHOLE
    inside = signal.levels[:, chosen if signal.kept is None else chosen[signal.kept]]
    taken = vectorscope(renewed(signal, levels=inside), size)
    return Keyed(made.levels(), mask, found, cloud, taken, coverage(mask, key), signal.weights)


def _masks(
    loaded: Loaded, correction: Correction, encoding: Encoding, place: int, rough: bool
) -> tuple[Mask, Mask]:
    """The finished matte, and its key before denoise and blur."""
    from poise.engine import COARSE, matte_of

    pixels, depth = (loaded.sample, loaded.sample_depth) if rough else (loaded.small, loaded.depth)
    assert pixels is not None
    matte = correction.mattes[place]
    mask = matte_of(correction, place, encoding, depth, entries=COARSE).apply(pixels)
    if not matte.denoise and not matte.blur:
        return mask, mask
    plain = (*correction.mattes[:place], replace(matte, denoise=0.0, blur=0.0))
    return mask, matte_of(replace(correction, mattes=plain), place, encoding, depth, entries=COARSE).apply(pixels)
