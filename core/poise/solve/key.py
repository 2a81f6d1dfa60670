"""Keying: the ranges of a matte, widened by samples that are added, narrowed by samples that are removed.

A pixel is inside where hue, chroma and luma all are, so a sample that is added widens each range that it needs, and one
that is removed narrows a single range: the one that loses the smallest share.
"""

from dataclasses import dataclass
from math import ceil, floor, inf

import numpy as np
import numpy.typing as npt
from msgspec.structs import replace

from poise.colour import luma as y
from poise.correction.model import HueInterval, Interval, Matte
from poise.errors import PoiseError
from poise.scopes.colours import NEAR_NEUTRAL

Array = npt.NDArray[np.float64]
Ends = tuple[float, float]
"""Low and high; those of a hue may wrap past 360."""

ALL_ROUND: Ends = (0.0, 360.0)
STRAY = 0.005
"""The share of a sample's pixels that may lie beyond either end of a range, as with black and white readings."""


@dataclass(frozen=True)
class Grain:
    """The resolution of a range, in its own unit (common practice, no source).

    Attributes:
        width: the least width of a range; about the spread of one surface by noise and texture.
        soft: the softness after the first sample, so that the edge of the matte has no steps.
        step: ends are rounded to it, outwards when widened, inwards when narrowed.
        period: the value at which the scale wraps.
    """

    width: float
    soft: float
    step: float
    period: float = inf


HUE = Grain(width=12, soft=10, step=0.1, period=360)
CHROMA = Grain(width=0.04, soft=0.03, step=0.001)
LUMA = Grain(width=0.1, soft=0.05, step=0.001)


def sample(matte: Matte, patch_ycc: npt.ArrayLike, add: bool = True) -> Matte:
    """The matte with a sample's colours added to its ranges, or removed from them.

    The first sample of a matte that selects everything sets the ranges to its spread. Later samples widen them just
    enough, hue by the shorter way. Removing a sample narrows one range from its nearer end until the sample's median is
    outside, softness included; a full circle of hue opens at the sample. Pixels near neutral have no reliable hue; if
    the median is near neutral, hue stays a full circle, and chroma and luma select.

    Args:
        patch_ycc: (n, 3) Y'CbCr as `colour.luma.to_ycbcr` gives it; luma and chroma outside 0..1 count as the nearer.

    Raises:
        PoiseError: no finite pixel; nothing was added yet; no range can be narrowed and keep its least width.

    Example:
        >>> keyed = sample(Matte(name="buoy"), [[0.3, -0.1, 0.3]])
        >>> (keyed.hue.low, keyed.hue.high), (keyed.chroma.low, keyed.chroma.high)
        ((102.4, 114.5), (0.296, 0.337))
    """
    ycc = np.asarray(patch_ycc, np.float64).reshape(-1, 3)
    ycc = ycc[np.isfinite(ycc).all(axis=1)]
    if not len(ycc):
        raise PoiseError("no valid pixels in the sample: point at another place")
    return _added(matte, ycc) if add else _without(matte, *_polar(np.median(ycc, axis=0)))


def _polar(ycc: Array) -> tuple[Array, Array, Array]:
    """Hue in degrees, chroma and luma within 0..1, of (..., 3) Y'CbCr."""
    luma, cb, cr = np.moveaxis(ycc, -1, 0)
    return np.asarray(y.hue(cb, cr)), np.clip(y.chroma(cb, cr), 0, 1), np.clip(luma, 0, 1)


def _takes_all(matte: Matte) -> bool:
    ranges = (matte.hue.low, matte.hue.high, matte.chroma.low, matte.chroma.high, matte.luma.low, matte.luma.high)
    return ranges == (*ALL_ROUND, 0, 1, 0, 1)


def _added(matte: Matte, ycc: Array) -> Matte:
    hues, chromas, lumas = _polar(ycc)
    centre, middle, _ = _polar(np.median(ycc, axis=0))
    coloured = hues[chromas >= NEAR_NEUTRAL]  # the hue of the others is noise
    hueless = middle < NEAR_NEUTRAL or not len(coloured)
    hue = ALL_ROUND if hueless else _spread(coloured, (coloured - centre + 180) % 360, HUE)
    chroma, luma = _spread(chromas, chromas, CHROMA), _spread(lumas, lumas, LUMA)
    if _takes_all(matte):
        hue = hue if hue == ALL_ROUND else _least_arc(hue)
        return replace(
            matte,
            hue=HueInterval(*hue, matte.hue.soft or HUE.soft),
            chroma=Interval(*_least(chroma, CHROMA), matte.chroma.soft or CHROMA.soft),
            luma=Interval(*_least(luma, LUMA), matte.luma.soft or LUMA.soft),
        )
    return replace(
        matte,
        hue=HueInterval(*_joined_arcs((matte.hue.low, matte.hue.high), hue), matte.hue.soft),
        chroma=Interval(*_joined(matte.chroma, chroma), matte.chroma.soft),
        luma=Interval(*_joined(matte.luma, luma), matte.luma.soft),
    )


def _spread(values: Array, order: Array, grain: Grain) -> Ends:
    """The ends of the values without outliers, rounded outwards; a full circle if nothing is left out."""
    ranks = np.argsort(order)
    drop = int(STRAY * (len(ranks) - 1))
    first, last = ranks[drop], ranks[len(ranks) - 1 - drop]
    if order[last] - order[first] + 2 * grain.step >= grain.period:
        return ALL_ROUND
    low, high = _down(float(values[first]), grain.step), _up(float(values[last]), grain.step)
    return (low % 360, high % 360) if grain is HUE else (max(low, 0.0), min(high, 1.0))


def _least(ends: Ends, grain: Grain) -> Ends:
    """Ends within 0..1, widened to the least width."""
    low, high = ends
    more = max(grain.width - (high - low), 0) / 2
    low, high = _down(low - more, grain.step), _up(high + more, grain.step)
    return round(max(low - max(high - 1, 0), 0.0), 9), round(min(high + max(-low, 0), 1.0), 9)


def _least_arc(ends: Ends) -> Ends:
    low, high = ends
    more = max(HUE.width - _span(ends), 0) / 2
    return (_down(low - more, HUE.step) % 360, _up(high + more, HUE.step) % 360) if more else ends


def _joined(range_: Interval, ends: Ends) -> Ends:
    return min(range_.low, ends[0]), max(range_.high, ends[1])


def _joined_arcs(a: Ends, b: Ends) -> Ends:
    """The shorter of the arcs that begin where one of two begins and hold both."""
    if ALL_ROUND in (a, b):
        return ALL_ROUND

    def from_low(one: Ends, other: Ends) -> tuple[float, Ends]:
        reach = (other[0] - one[0]) % 360 + _span(other)
        return (reach, (one[0], other[1])) if reach > _span(one) else (_span(one), one)

    span, ends = min(from_low(a, b), from_low(b, a))
    return ends if span < 360 else ALL_ROUND


def _without(matte: Matte, hue: Array, chroma: Array, luma: Array) -> Matte:
    if _takes_all(matte):
        raise PoiseError("nothing is keyed yet: add a colour before removing one")
    cuts = [
        (_cut(float(chroma), matte.chroma, CHROMA), "chroma"),
        (_cut(float(luma), matte.luma, LUMA), "luma"),
    ]
    if chroma >= NEAR_NEUTRAL:
        cuts.append((_cut(float(hue), matte.hue, HUE), "hue"))
    (lost, low, high), name = min(cuts)
    if lost == inf:
        raise PoiseError("no range can leave that colour out: each would fall below its least width; key it anew")
    return replace(matte, **{name: replace(getattr(matte, name), low=low, high=high)}) if lost > 0 else matte


def _cut(at: float, range_: Interval | HueInterval, grain: Grain) -> tuple[float, float, float]:
    """Share lost, low and high, once a value and all within its softness are left out: the longer piece beside it.

    The share is infinite where no piece is wide enough, and 0 where the value is outside already.
    """
    low, high = range_.low, range_.high
    span = _span((low, high)) if grain is HUE else high - low
    if (low, high) == ALL_ROUND:
        low = high = at  # a circle has no ends: it opens where the sample is
    place = (at - low) % 360 if grain is HUE else at - low
    reach = max(range_.soft, grain.step)
    below = (max(0.0, place + reach - grain.period), min(span, place - reach))
    above = (max(0.0, place + reach), min(span, place - reach + grain.period))
    start, end = max(below, above, key=lambda piece: piece[1] - piece[0])
    if start == 0 and end == span:
        return 0.0, low, high
    start = _up(low + start, grain.step) - low if start else 0.0
    end = _down(low + end, grain.step) - low if end < span else span
    if end - start < min(grain.width, span):
        return inf, low, high
    ends = (round(low + start, 9) if start else low, round(low + end, 9) if end < span else high)
    return (1 - (end - start) / span, *((e % 360 for e in ends) if grain is HUE else ends))


def _span(ends: Ends) -> float:
    """Degrees from low up to high."""
    return 360.0 if ends == ALL_ROUND else (ends[1] - ends[0]) % 360


def _down(value: float, step: float) -> float:
    """The multiple of the step that is not above the value."""
    place = round(floor(value / step) * step, 9)
    return place if place <= value else round(place - step, 9)


def _up(value: float, step: float) -> float:
    place = round(ceil(value / step) * step, 9)
    return place if place >= value else round(place + step, 9)
