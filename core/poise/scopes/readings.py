"""The readings: the numbers measured on a picture in work code."""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from poise.scopes.neutrals import Cast, Neutrals
from poise.scopes.signal import Picture, full_scale, split, strips

BLACK, MIDDLE, WHITE = 0.5, 50.0, 99.5
"""The percentiles called black, median and white."""
LOWEST, HIGHEST = -11 / 219 - 1e-6, 230 / 219 + 1e-6
"""The limits of EBU R 103, -5 % and 105 % of the signal, at its codes: 5 and 246 of 8-bit narrow range, 20 and 984 of
10-bit."""
_LUMA_STEPS = 65535
"""Luma of integer pictures is counted in steps of 1/65535, as fine as the finest integer code."""


@dataclass(frozen=True)
class Channel:
    """The distribution of one channel.

    Attributes:
        black, median, white: the 0.5th, 50th and 99.5th percentile, interpolated linearly between ranks; per cent of
            full signal, NaN for a picture without finite pixels.
        crushed, clipped: the shares of pixels at or below 0 and at or above full signal; per cent of the finite pixels.
    """

    black: float
    median: float
    white: float
    crushed: float
    clipped: float


@dataclass(frozen=True)
class Spread:
    """The largest difference between red, green and blue at black, at the median and at white; per cent."""

    bottom: float
    middle: float
    top: float


@dataclass(frozen=True)
class Readings:
    """All readings of one picture; levels and shares in per cent, angles in degrees.

    Attributes:
        luma, red, green, blue: the distribution of each.
        spread: the differences between red, green and blue.
        cast: the colour of the near-neutrals.
        saturation: the mean chroma, hypot(Cb, Cr), in per cent of full signal.
        outside: the share of pixels with a channel outside -5 % .. 105 % (EBU R 103, which allows 1 %).
        invalid: the share of pixels with a NaN or infinite channel; all other readings leave them out.
    """

    luma: Channel
    red: Channel
    green: Channel
    blue: Channel
    spread: Spread
    cast: Cast
    saturation: float
    outside: float
    invalid: float

    def to_json(self) -> dict[str, Any]:
        """The `readings` object of `measure --json`: rounded to 4 decimals, null for NaN, `invalid` only if not 0."""
        whole: dict[str, Any] = _plain(self)
        if not self.invalid:
            del whole["invalid"]
        return whole


def measure(picture: Picture, maximum: int | None = None, primaries: str = "ITU-R BT.709") -> Readings:
    """Measure a picture.

    Percentiles are exact, except those of luma of an integer picture, which are exact to half a step of 1/65535.

    Args:
        picture, maximum, primaries: as in `poise.scopes.signal.split`; always full range.

    Raises:
        ValueError: the array has the wrong shape or type.

    Example:
        >>> readings = measure(np.full((4, 4, 3), 51, np.uint8))
        >>> readings.luma.median, readings.cast.hue
        (20.0, 'none')
    """
    if picture.dtype.kind == "f":
        return _measure_float(picture, primaries)
    return measure_parts(strips(picture), maximum, primaries)


def _measure_float(picture: Picture, primaries: str) -> Readings:
    signal = split(picture, None, primaries)
    neutrals = Neutrals()
    neutrals.add(signal)
    low, high = signal.levels[1:].min(axis=0, initial=np.inf), signal.levels[1:].max(axis=0, initial=-np.inf)
    outside = np.count_nonzero((low < LOWEST) | (high > HIGHEST))
    channels = [channel_of(plane) for plane in signal.levels]
    return _readings(channels, neutrals, _share(outside, low.size), _share(signal.invalid, picture[..., 0].size))


def measure_parts(parts: Iterable[Picture], maximum: int | None = None, primaries: str = "ITU-R BT.709") -> Readings:
    """Measure an integer picture that is given in parts, so that only one of them has to be in memory.

    Args:
        parts: at least one, in any order; together they are the picture.
        maximum, primaries: as in `measure`.

    Raises:
        ValueError: as `measure`.

    Example:
        >>> measure_parts(np.full((1, 4, 3), code, np.uint8) for code in (0, 51, 255)).luma.median
        20.0
    """
    counts: npt.NDArray[np.int64] = np.zeros((0, 0), np.int64)
    luma: npt.NDArray[np.int64] = np.zeros(_LUMA_STEPS + 1, np.int64)
    neutrals, scale = Neutrals(), 1
    for part in parts:
        if not counts.size:
            scale, codes = full_scale(part, maximum), int(np.iinfo(part.dtype).max) + 1
            counts = np.zeros((part.shape[2], codes), np.int64)
        for channel, count in enumerate(counts):
            count += np.bincount(part[..., channel].ravel(), minlength=len(count))
        signal = split(part, scale, primaries)
        neutrals.add(signal)
        steps = np.clip(np.rint(signal.levels[0] * _LUMA_STEPS), 0, _LUMA_STEPS).astype(np.int32)
        luma += np.bincount(steps, minlength=_LUMA_STEPS + 1)
    colours = [_of_counts(count, scale) for count in counts]
    channels = [_of_counts(luma, _LUMA_STEPS), *(colours * 3 if len(colours) == 1 else colours)]
    return _readings(channels, neutrals, 0.0, 0.0)


def _readings(channels: list[Channel], neutrals: Neutrals, outside: float, invalid: float) -> Readings:
    luma, red, green, blue = channels
    colours = (red, green, blue)
    spread = Spread(
        bottom=_difference([c.black for c in colours]),
        middle=_difference([c.median for c in colours]),
        top=_difference([c.white for c in colours]),
    )
    return Readings(luma, red, green, blue, spread, neutrals.cast(), neutrals.saturation, outside, invalid)


def channel_of(levels: npt.NDArray[np.float32]) -> Channel:
    """The exact distribution of one channel from its finite levels, (pixels,) 0..1 nominal."""
    if not levels.size:
        return Channel(math.nan, math.nan, math.nan, 0.0, 0.0)
    ordered = np.sort(levels)
    ranks = np.array((BLACK, MIDDLE, WHITE)) / 100 * (ordered.size - 1)
    below = ordered[np.floor(ranks).astype(np.int64)].astype(np.float64)
    above = ordered[np.ceil(ranks).astype(np.int64)]
    black, median, white = (100 * (below + (above - below) * (ranks % 1))).tolist()
    crushed, below_full = np.searchsorted(ordered, 0, side="right"), np.searchsorted(ordered, 1, side="left")
    return Channel(black, median, white, _share(crushed, ordered.size), _share(ordered.size - below_full, ordered.size))


def _of_counts(counts: npt.NDArray[np.int64], maximum: int) -> Channel:
    """The distribution of one channel from the counts of its codes."""
    upto = np.cumsum(counts)
    pixels = int(upto[-1])
    ranks = np.array((BLACK, MIDDLE, WHITE)) / 100 * (pixels - 1)
    below = np.searchsorted(upto, np.floor(ranks), side="right")
    above = np.searchsorted(upto, np.ceil(ranks), side="right")
    black, median, white = (100 / maximum * (below + (above - below) * (ranks % 1))).tolist()
    return Channel(black, median, white, _share(counts[0], pixels), _share(counts[maximum:].sum(), pixels))


def _difference(values: list[float]) -> float:
    return max(values) - min(values)


def _share(part: int | np.integer[Any], whole: int) -> float:
    return 100 * int(part) / whole if whole else 0.0


def _plain(value: Any) -> Any:
    if isinstance(value, float):
        return round(value, 4) if math.isfinite(value) else None
    if isinstance(value, str):
        return value
    return {key: _plain(part) for key, part in vars(value).items()}
