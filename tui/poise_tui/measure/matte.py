"""A matte measured for display: its mask, the colours that it keys from, and its coverage."""

from dataclasses import dataclass
from dataclasses import replace as renewed
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
from msgspec.structs import replace

from poise.colour.luma import BT709, Weights, luma
from poise.correction import Correction, Encoding, Inside
from poise.scopes import Colours, Coverage, colours, coverage
from poise.scopes.signal import Signal, split
from poise.scopes.vectorscope import vectorscope
from poise.scopes.waveform import Counts
from poise_tui.desk import Shown
from poise_tui.measure.correct import Work, WorkCode, work
from poise_tui.measure.loaded import Loaded

if TYPE_CHECKING:
    from poise.engine import Selected

Mask = npt.NDArray[np.float32]

WHOLE = 0.5
"""The least mask value of a pixel that counts as keyed on the vectorscope."""


@dataclass(frozen=True, eq=False)
class Keyed:
    """A matte on a proxy, or on its sample.

    Attributes:
        under: (height, width, 1 or 3) work code that the matte is keyed on, with the mattes before it.
        mask: (height, width), 0..1; None while there is no matte.
        colours: the distribution of hue, chroma and luma in the whole picture, drawn behind the ranges.
        read: (height, width, 1 or 3) what the cursor reads: `under`, or the result after all mattes.
        cloud, taken: the vectorscope counts of all of `read`, and of its keyed pixels.
        by: the luma weights.
        gain: of the vectorscope.
    """

    under: WorkCode
    read: WorkCode
    mask: Mask | None
    colours: Colours
    cloud: Counts
    taken: Counts | None
    coverage: Coverage | None
    by: Weights = BT709
    gain: int = 1

    def picture(self, result: WorkCode, shown: Shown, inverted: bool, step: int) -> WorkCode:
        """What the picture shows: the result, the matte alone, or the keyed colour with all else grey.

        Args:
            result: (height, width, 1 or 3) every `step`-th pixel of the result.
            inverted: shows the matte inverted, without changing it.
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
    gain: int = 1,
) -> tuple[Work, Keyed]:
    """Keys a proxy, or its sample; returns the result after all mattes, and the matte.

    Args:
        size: of the vectorscope.
        place: the index of the matte in the correction; None for one still to be made after them.
        inside: count the result, not what the matte is keyed on.
        gain: of the vectorscope.

    Raises:
        PoiseError: the correction or the encoding can't be applied to this picture.
    """
    if place is None:
        made = work(loaded, correction, encoding, rough)
        signal, levels = split(made.pixels, made.maximum, made.primaries), made.levels()
        found, cloud = _colours(signal, rough), vectorscope(signal, size, gain=gain)
        return made, Keyed(levels, levels, None, found, cloud, None, None, signal.weights, gain)
    from poise.engine import COARSE, matte_of  # not before the first paint

    chosen = (_remembered if rough else _chosen)(loaded, _neutral(correction, place), encoding, place, rough)
    if loaded.grey:  # the engine reports what can't be done to one channel
        made = work(loaded, correction, encoding, rough)
    else:
        keyer = matte_of(correction, place, encoding, loaded.pixels(rough)[1], entries=COARSE)
        made = Work(keyer.behind(chosen.selected), None, encoding.work_primaries)
    under = chosen.under[..., :1] if loaded.grey else chosen.under
    shown, signal = (made.levels(), split(made.levels(), None, made.primaries)) if inside else (under, chosen.signal)
    mask = chosen.selected.mask
    taken = mask.ravel() >= WHOLE
    own = renewed(signal, levels=signal.levels[:, taken if signal.kept is None else taken[signal.kept]])
    cloud, part = (vectorscope(one, size, gain=gain) for one in (signal, own))
    return made, Keyed(under, shown, mask, chosen.colours, cloud, part, chosen.coverage, chosen.signal.weights, gain)


@dataclass(frozen=True, eq=False)
class _Chosen:
    """What a matte keys from and what it takes: everything that stays the same while the correction inside changes."""

    selected: "Selected"
    under: WorkCode
    signal: Signal
    colours: Colours
    coverage: Coverage


def _chosen(loaded: Loaded, correction: Correction, encoding: Encoding, place: int, rough: bool) -> _Chosen:
    from poise.engine import COARSE, matte_of  # not before the first paint

    pixels, depth = loaded.pixels(rough)
    selected = matte_of(correction, place, encoding, depth, entries=COARSE).select(pixels)
    under = selected.picture.pixels()
    signal = split(under, None, encoding.work_primaries)
    return _Chosen(selected, under, signal, _colours(signal, rough), coverage(selected.mask, selected.keyed))


_remembered = lru_cache(maxsize=1)(_chosen)


def _neutral(correction: Correction, place: int) -> Correction:
    """The correction that a matte is keyed under: with nothing inside it, and without the mattes after it."""
    *before, matte = correction.mattes[: place + 1]
    return replace(correction, mattes=(*before, replace(matte, inside=Inside())))


def _colours(signal: Signal, rough: bool) -> Colours:
    """The colours of a signal; while keys follow each other, of every third pixel, which is enough for the ranges."""
    return colours(renewed(signal, levels=signal.levels[:, ::3]) if rough else signal)
