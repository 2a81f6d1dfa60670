"""Match: slope, offset, power and saturation that carry a shot's distribution onto a reference's."""

from collections.abc import Iterator
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
"""Between the 0.5th and 99.5th percentile, in work code; less, and a picture has no distribution to speak of."""
NEAR = 0.05
"""Per cent of signal: an eighth of an 8-bit code."""
LEAST_KEPT = 0.5
"""Share of the quantiles that must be unclipped in both pictures."""
MOST_LEFT = 1.25
"""Per cent of signal that slope, offset and power may leave; more, and the two show different things. Of crops of one
photograph under two lights, those past it come nearer to the truth by black, white and neutral alone."""
LEAST_GAINED = 0.005
"""Per cent of signal; less is not worth a decision, and a match of what was matched changes nothing."""
CODE = 1 / 255
"""One of 8 bits: as near to an end of the scale as makes no difference."""
AS_ONE = 0.1
"""Per cent of signal: what rounding to 8 bits leaves."""
ROUGH, EXACT = 0.01, 1e-8
"""Of saturation: whether it is worth a search at all is found out quickly."""
ENDS = (
    ("black, white and neutral alone", 1.0, 1.0),
    ("neutral alone", 0.0, 1.0),
    ("black and white alone", 1.0, 0.0),
    ("black, white and neutral alone, half of the way", 0.5, 0.5),
)
LEVEL_ENDS = (("black and white alone", 1.0, 0.0), ("black and white alone, half of the way", 0.5, 0.0))
"""What is tried where shape can't be trusted: its name, and how much of the way black and white go, and neutral. The
second is for where there are no colours."""


@dataclass(frozen=True)
class Matched:
    """A correction under which a shot stands as near to the reference as it should.

    Attributes:
        before, after: the mean parade difference from the reference, in per cent of signal; NaN where there is none.
        note: one sentence that says what was done.
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
    """The correction with its balance and saturation changed, so that the shot's levels meet those of a reference.

    Light, levels, tone, curves and mattes stay; mattes are passed over. Where one of the two pictures is grey, luma is
    matched, by the same change of all channels.

    The two may show different things. Where slope, offset and power can't bring the shapes of their distributions
    together, only black, white and the neutral balance are matched, and what doesn't bring them nearer is not done.

    Args:
        pixels: (height, width, 1 or 3) in file codes of `depth`.
        reference: of a picture in work code under its own correction.
        strength: how much of the way to go, 0..1.

    Raises:
        PoiseError: the encoding names an unknown transfer function or primaries.
        ValueError: another strength.

    Example:
        match(frame.colour, Correction(), CODED, frame.depth, distribution(work)).note
    """
    if not 0 <= strength <= 1:
        raise ValueError(f"strength is 0 to 1, not {strength}")
    shot = subject(pixels, correction, encoding, depth, _alike(pixels, correction, reference))
    if not len(shot.lit) or not len(reference.pixels):
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
    for found, note in _tries(shot, seen, strength):
        then = shot.levels(found)
        after = apart(then, aim)
        if after < before - LEAST_GAINED:
            nearer = True
            if not _loses(then, now, aim):
                return Matched(found, before, after, note)
    why = "what brings it nearer crushes or clips it" if nearer else "nothing brings it nearer"
    return Matched(correction, before, before, f"{why}: left alone")


def _alike(pixels: Pixels, correction: Correction, reference: Distribution) -> bool:
    """Whether there are no colours to match on either side."""
    return pixels.shape[-1] == 1 or reference.grey or correction.saturation < LEAST_SATURATION


def _loses(after: Array, before: Array, aim: Array) -> bool:
    """Whether more than MOST_LOST is crushed or clipped that neither picture has at the end of the scale."""

    def lost(end: float, side: int) -> Array:
        off = [side * (at - end) > within for at, within in ((before, 0), (aim, CODE), (after, 0))]
        return np.asarray((off[0] & off[1] & ~off[2]).mean(axis=0))

    return bool(max(lost(0, 1).max(), lost(1, -1).max()) > MOST_LOST)


def _range(at: Array) -> float:
    return float((at[-1] - at[0]).max())


def _tries(shot: Subject, reference: Array, strength: float) -> Iterator[tuple[Correction, str]]:
    """Corrections to try, the most thorough first, and what each does."""
    found, said = _shape(shot, reference, strength)
    if found is not None:
        yield found, said
        said = "the shape would take it further off"
    for name, range_by, neutral_by in LEVEL_ENDS if shot.alike else ENDS:
        balance = fit_ends(shot, reference, strength * range_by, strength * neutral_by)
        yield replace(shot.correction, balance=balance), f"{name}: {said}"


def _shape(shot: Subject, reference: Array, strength: float) -> tuple[Correction | None, str]:
    """The correction that fits the shape of the distribution and what it does; or None, and why that can't be trusted.

    Saturation is believed only where the shapes agree the better for it: two pictures that show different things differ
    in mean chroma anyway.
    """
    present = shot.correction
    aim, seen = levels(reference), levels(shot.source)
    kept = ~(clipped(shot.source, seen) | clipped(reference, aim))
    if kept.mean() < LEAST_KEPT:
        return None, "too much is clipped"

    def goal(value: float) -> Array:
        # saturation holds luma, so its inverse is a saturation too
        return aim if shot.alike or value == 1 else levels(run(saturation.stages(1 / value), reference))

    def fitted(value: float) -> Correction:
        balance = fit_shape(shot, seen, goal(value), kept)
        return replace(present, balance=balance, saturation=round(value, 9))

    found, said = fitted(present.saturation), "slope, offset and power"
    left = apart(shot.levels(found), aim)
    if left > MOST_LEFT:
        return None, f"the two differ in more than light, their shapes by {left:.1f} %"
    if not shot.alike and left > LEAST_GAINED:
        for within in ROUGH, EXACT:
            other = fitted(fit_saturation(shot, reference, fitted, within))
            if other.saturation == present.saturation or apart(shot.levels(other), aim) > max(left / 2, AS_ONE):
                break
            found, said = other, "slope, offset, power and saturation"
    if strained(present.balance, found.balance):
        return None, "the shape asks for too much gain or power"
    if strength == 1:
        return found, said
    now = shot.unmixed(seen, present.balance)
    part = fit_shape(shot, seen, now + strength * (goal(found.saturation) - now), kept)
    mixed = present.saturation + strength * (found.saturation - present.saturation)
    return replace(present, balance=part, saturation=round(mixed, 9)), said
