"""Match: the slope, offset, power and saturation that bring a shot's distribution to that of a reference."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from msgspec.structs import replace

from poise.chain import saturation
from poise.correction.model import Correction, Encoding
from poise.frames.frame import Depth, Pixels
from poise.solve.distribution import Distribution, apart, clipped, greyed, levels
from poise.solve.fit import LEAST_SATURATION, Subject, fit_ends, fit_saturation, fit_shape, strained, subject
from poise.solve.levels import MOST_LOST
from poise.solve.working_code import run

Array = npt.NDArray[np.float64]

FLAT = 0.02
"""The least distance between the 0.5th and 99.5th percentiles, in work code, of a distribution that can be matched."""
NEAR = 0.05
"""Per cent of signal: an eighth of an 8-bit code."""
LEAST_KEPT = 0.5
"""The share of the quantiles that must be unclipped in both pictures."""
MOST_LEFT = 1.25
"""Per cent of signal: the largest remaining difference at which a fit of slope, offset and power is reliable. A larger
one suggests different subjects. For crops of one photograph under two lights, a fit of black, white and neutral alone
was then more accurate, except where it would crush or clip."""
LEAST_GAINED = 0.005
"""Per cent of signal; a smaller change is not made, so that matching again changes nothing."""
CODE = 1 / 255
"""One 8-bit code: values within it of an end of the scale count as being at that end."""
AS_ONE = 0.1
"""Per cent of signal: the difference that rounding to 8 bits causes."""
ROUGH, EXACT = 0.01, 1e-8
"""Tolerances of saturation; the rough search shows whether the exact one is worth its time."""
ENDS = (
    (("black, white and neutral alone", 1.0, 1.0),),
    (
        ("neutral alone", 0.0, 1.0),
        ("black and white alone", 1.0, 0.0),
        ("black, white and neutral alone, half of the way", 0.5, 0.5),
    ),
)
LEVEL_ENDS = (
    (("black and white alone", 1.0, 0.0),),
    (("black and white alone, half of the way", 0.5, 0.0),),
)
"""The candidates if a fit of slope, offset and power is unreliable, best first: a name, the share of the difference
that is removed in black and white, and that in the neutral. LEVEL_ENDS is for pictures without colour."""


@dataclass(frozen=True)
class Matched:
    """A correction that brings a shot as near to the reference as was asked for.

    Attributes:
        before, after: the mean parade difference from the reference, in per cent of signal; NaN if unknown.
        note: one sentence that describes the match.
    """

    correction: Correction
    before: float
    after: float
    note: str


def match(
    pixels: Pixels,
    correction: Correction,
    encoding: Encoding,
    depth: Depth,
    reference: Distribution,
    strength: float = 1.0,
) -> Matched:
    """Changes the balance and saturation of a correction so that the levels of the shot match those of a reference.

    Light, levels, tone, curves and mattes stay; the shot is measured without its mattes. Where one of the pictures is
    grey, luma is matched by changing all channels equally.

    The two may show different subjects. Where slope, offset and power can't make their distributions agree, only black,
    white and the neutral balance are matched. Where that would crush or clip, the candidate with the smallest remaining
    difference among those that lose nothing is taken. A correction that reduces no difference is not made.

    Args:
        pixels: (height, width, 1 or 3) in file codes of `depth`.
        reference: the distribution of a picture in work code under its own correction.
        strength: 0..1, the share of the difference to remove.

    Raises:
        PoiseError: the encoding names an unknown transfer function or primaries.
        ValueError: the strength is outside 0..1.

    Example:
        match(frame.colour, Correction(), CODED, frame.depth, distribution(work)).note
    """
    if not 0 <= strength <= 1:
        raise ValueError(f"strength is 0 to 1, not {strength}")
    shot = subject(pixels, correction, encoding, depth, _alike(pixels, correction, reference))
    if not len(shot.after_light) or not len(reference.pixels):
        return Matched(correction, np.nan, np.nan, "no valid pixels: left alone")
    seen = greyed(reference.pixels, shot.by) if shot.alike else reference.pixels
    aim, now = levels(seen), shot.levels(correction)
    before = apart(now, aim)
    if not np.isfinite(before):
        return Matched(correction, np.nan, np.nan, "levels beyond all numbers: left alone")
    if strength == 0:
        return Matched(correction, before, before, "strength 0: left alone")
    if before <= NEAR:
        return Matched(correction, before, before, "it matches already: left alone")
    if min(_range(now), _range(aim)) < FLAT:
        return Matched(correction, before, before, "one of the two is flat, all one level: left alone")
    nearer = False

    def loses(found: Correction) -> bool:
        return _loses(shot.levels(found), now, aim)

    for tries in _tries(shot, seen, strength, loses):
        left = [(apart(shot.levels(found), aim), found, note) for found, note in tries]
        close = [one for one in left if one[0] < before - LEAST_GAINED]
        whole = [one for one in close if not loses(one[1])]
        if whole:
            after, found, note = min(whole, key=lambda one: one[0])
            return Matched(found, before, after, note)
        nearer = nearer or bool(close)
    why = "what brings it nearer crushes or clips it" if nearer else "nothing brings it nearer"
    return Matched(correction, before, before, f"{why}: left alone")


def _alike(pixels: Pixels, correction: Correction, reference: Distribution) -> bool:
    """Whether either picture has no colour to match."""
    return pixels.shape[-1] == 1 or reference.grey or correction.saturation < LEAST_SATURATION


def _loses(after: Array, before: Array, aim: Array) -> bool:
    """Whether more than MOST_LOST is crushed or clipped beyond what either picture has at the ends of the scale."""

    def lost(end: float, side: int) -> Array:
        off = [side * (at - end) > within for at, within in ((before, 0), (aim, CODE), (after, 0))]
        return np.asarray((off[0] & off[1] & ~off[2]).mean(axis=0))

    return bool(max(lost(0, 1).max(), lost(1, -1).max()) > MOST_LOST)


def _range(at: Array) -> float:
    return float((at[-1] - at[0]).max())


def _tries(
    shot: Subject, reference: Array, strength: float, loses: Callable[[Correction], bool]
) -> Iterator[list[tuple[Correction, str]]]:
    """Candidate corrections with their descriptions, in groups; a group is used if none before it has a usable one."""
    shape, said, trusted = _shape(shot, reference, strength)
    if shape is not None and trusted:
        yield [(shape, said)]
        said = "the shape would take it further off, or crush or clip it"

    def ends(rank: Sequence[tuple[str, float, float]]) -> list[tuple[Correction, str]]:
        fits = [(name, fit_ends(shot, reference, strength * a, strength * b)) for name, a, b in rank]
        return [(replace(shot.correction, balance=balance), f"{name}: {said}") for name, balance in fits]

    first, rest = LEVEL_ENDS if shot.alike else ENDS
    whole = ends(first)
    yield whole
    spare = []
    if shape is not None and not trusted and all(loses(found) for found, _ in whole):
        spare = [(shape, f"slope, offset and power: {said}, but {first[0][0]} crush or clip it")]
    yield ends(rest) + spare


def _shape(shot: Subject, reference: Array, strength: float) -> tuple[Correction | None, str, bool]:
    """The correction that fits the shape of the distribution, its description, and whether the fit is reliable.

    Where it is not, the description says why; the correction is None where none fits at all.

    Saturation is changed only where that makes the shapes agree better: pictures of different subjects differ in mean
    chroma anyway.
    """
    present = shot.correction
    aim, seen = levels(reference), levels(shot.source)
    kept = ~(clipped(shot.source, seen) | clipped(reference, aim))
    if kept.mean() < LEAST_KEPT:
        return None, "too much is clipped", False

    def goal(value: float) -> Array:
        # saturation holds luma, so its inverse is a saturation too
        return aim if shot.alike or value == 1 else levels(run(saturation.stages(1 / value), reference))

    def fitted(value: float) -> Correction:
        balance = fit_shape(shot, seen, goal(value), kept)
        return replace(present, balance=balance, saturation=round(value, 9))

    found, said = fitted(present.saturation), "slope, offset and power"
    left = apart(shot.levels(found), aim)
    trusted = left <= MOST_LEFT
    if not trusted:
        said = f"the two differ in more than light, their shapes by {left:.1f} %"
    elif not shot.alike and left > LEAST_GAINED:
        for within in ROUGH, EXACT:
            other = fitted(fit_saturation(shot, reference, fitted, within))
            if other.saturation == present.saturation or apart(shot.levels(other), aim) > max(left / 2, AS_ONE):
                break
            found, said = other, "slope, offset, power and saturation"
    if strained(present.balance, found.balance):
        return None, said if not trusted else "the shape asks for too much gain or power", False
    if strength == 1:
        return found, said, trusted
    now = shot.unmixed(seen, present.balance)
    part = fit_shape(shot, seen, now + strength * (goal(found.saturation) - now), kept)
    mixed = present.saturation + strength * (found.saturation - present.saturation)
    return replace(present, balance=part, saturation=round(mixed, 9)), said, trusted
