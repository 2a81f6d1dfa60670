"""Keyframes: corrections at certain frames of a sequence, interpolated at all others."""

import math
from bisect import bisect_left
from collections.abc import Sequence
from itertools import pairwise
from typing import Annotated, Any, TypeVar

from msgspec import Meta, Struct
from msgspec.structs import replace

from poise.correction.model import Balance, Correction, Curves, HueInterval, Matte, Points

MOST_KEYFRAMES = 256
CURVES = Curves.__struct_fields__
S = TypeVar("S", bound=Struct)


class Keyframe(Struct, frozen=True):
    """The correction at one frame of a sequence.

    Attributes:
        frame: the frame number, 0 or more.
    """

    frame: Annotated[int, Meta(ge=0)]
    correction: Correction = Correction()


Keyframes = Annotated[tuple[Keyframe, ...], Meta(max_length=MOST_KEYFRAMES)]


def check_rising(keyframes: Sequence[Keyframe]) -> None:
    """Checks that the frame numbers of keyframes rise.

    Raises:
        ValueError: a frame number is not larger than the one before it; the message begins with the JSON path.

    Example:
        >>> check_rising([Keyframe(101), Keyframe(111)])
    """
    for place, (one, other) in enumerate(pairwise(keyframes), 1):
        if other.frame <= one.frame:
            raise ValueError(f".keyframes[{place}]: frame numbers must rise from keyframe to keyframe")


def correction_at(correction: Correction, keyframes: Sequence[Keyframe], frame: int | None) -> Correction:
    """The correction at a frame: interpolated between two keyframes, constant before the first and after the last.

    Args:
        correction: the result for a still, or without keyframes.
        keyframes: in rising order of their frame numbers.
        frame: the frame number; None for a still.

    Example:
        >>> keys = Keyframe(101), Keyframe(111, Correction(saturation=1.5))
        >>> correction_at(Correction(), keys, 105).saturation
        1.2
    """
    if not keyframes or frame is None:
        return correction
    place = bisect_left(keyframes, frame, key=lambda one: one.frame)
    if place == len(keyframes):
        return keyframes[-1].correction
    if place == 0 or keyframes[place].frame == frame:
        return keyframes[place].correction
    before, after = keyframes[place - 1], keyframes[place]
    return between(before.correction, after.correction, (frame - before.frame) / (after.frame - before.frame))


def with_keyframe(keyframes: Sequence[Keyframe], frame: int, correction: Correction) -> tuple[Keyframe, ...]:
    """Keyframes with one added, which replaces any at the same frame.

    Returns:
        In rising order of their frame numbers.

    Example:
        >>> [one.frame for one in with_keyframe([Keyframe(101)], 96, Correction())]
        [96, 101]
    """
    others = (one for one in keyframes if one.frame != frame)
    return tuple(sorted((*others, Keyframe(frame, correction)), key=lambda one: one.frame))


def between(one: Correction, other: Correction, share: float) -> Correction:
    """Interpolates two corrections: all numbers linearly, except slope and power, whose logarithms are interpolated.

    Curves whose inputs differ, and mattes that differ in name, order, on or invert, are copied from the nearer one.

    Args:
        share: 0..1; 0 gives `one`, 1 gives `other`.

    Example:
        >>> between(Correction(), Correction(saturation=1.5), 0.5).saturation
        1.25
    """
    curves = {
        name: _points(getattr(one.curves, name), getattr(other.curves, name), share)
        if _same_inputs(one.curves, other.curves, name)
        else getattr(_nearer(one.curves, other.curves, share), name)
        for name in CURVES
    }
    if _same_mattes(one, other):
        mattes = tuple(_between(a, b, share) for a, b in zip(one.mattes, other.mattes, strict=True))
    else:
        mattes = _nearer(one.mattes, other.mattes, share)
    parts = {name: _between(getattr(one, name), getattr(other, name), share) for name in _NUMBERS}
    return Correction(**parts, curves=Curves(**curves), mattes=mattes)


def not_interpolated(keyframes: Sequence[Keyframe]) -> list[str]:
    """Sentences on the parts that can't be interpolated, one for each part and each pair of neighbouring keyframes.

    Example:
        >>> bent = Correction(curves=Curves(red=((0, 0), (0.5, 0.6), (1, 1))))
        >>> not_interpolated([Keyframe(101), Keyframe(111, bent)])
        ['the red curves of frames 101 and 111 have different inputs; the nearer one is used between them']
    """
    words = []
    for one, other in pairwise(keyframes):
        a, b = one.correction, other.correction
        frames = f"of frames {one.frame} and {other.frame}"
        for name in CURVES:
            if not _same_inputs(a.curves, b.curves, name):
                words.append(f"the {name} curves {frames} have different inputs; the nearer one is used between them")
        if not _same_mattes(a, b):
            words.append(
                f"the mattes {frames} differ in name, order, on or invert; the nearer ones are used between them"
            )
    return words


_NUMBERS = tuple(name for name in Correction.__struct_fields__ if name not in ("curves", "mattes"))


def _between(one: Any, other: Any, share: float) -> Any:
    """Interpolates two numbers, or two tuples or structs of numbers."""
    if one == other or isinstance(one, str | bool):
        return one
    if isinstance(one, Balance):
        return Balance(
            _geometric(one.slope, other.slope, share),
            _between(one.offset, other.offset, share),
            _geometric(one.power, other.power, share),
        )
    if isinstance(one, HueInterval):
        return _hues(one, other, share)
    if isinstance(one, Struct):
        changed = {name: _between(getattr(one, name), getattr(other, name), share) for name in one.__struct_fields__}
        return replace(one, **changed)
    if isinstance(one, tuple):
        return tuple(_between(a, b, share) for a, b in zip(one, other, strict=True))
    return round(one + (other - one) * share, 12)


def _geometric(one: tuple[float, ...], other: tuple[float, ...], share: float) -> Any:
    """Interpolates the logarithms of positive numbers; pairs with a 0 are interpolated linearly."""
    return tuple(
        round(a * math.exp(math.log(b / a) * share), 12) if a > 0 and b > 0 else _between(a, b, share)
        for a, b in zip(one, other, strict=True)
    )


def _hues(one: HueInterval, other: HueInterval, share: float) -> HueInterval:
    """Interpolates the start of a hue range along the shorter arc, and its width."""
    turn = (other.low - one.low + 180) % 360 - 180
    wide = (one.high - one.low) % 360 or one.high - one.low
    wider = (other.high - other.low) % 360 or other.high - other.low
    low = round((one.low + turn * share) % 360, 12)
    high = low + wide + (wider - wide) * share
    return HueInterval(low, round(high - 360 if high > 360 else high, 12), _between(one.soft, other.soft, share))


def _points(one: Points, other: Points, share: float) -> Points:
    return tuple((x, round(y + (z - y) * share, 12)) for (x, y), (_, z) in zip(one, other, strict=True))


def _same_inputs(one: Curves, other: Curves, name: str) -> bool:
    first, second = getattr(one, name), getattr(other, name)
    return [x for x, _ in first] == [x for x, _ in second]


def _same_mattes(one: Correction, other: Correction) -> bool:
    return [*map(_identity, one.mattes)] == [*map(_identity, other.mattes)]


def _identity(matte: Matte) -> tuple[str, bool, bool]:
    return matte.name, matte.on, matte.invert


def _nearer(one: Any, other: Any, share: float) -> Any:
    return one if share <= 0.5 else other
