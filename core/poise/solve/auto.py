"""Auto: a starting point for one shot, from measurement alone, that says what it did and why it held back."""

from dataclasses import dataclass

import numpy as np
from msgspec.structs import replace

from poise.chain import order
from poise.colour.adaptation import light_matrix
from poise.correction.model import NEUTRAL, Balance, Correction, Encoding
from poise.frames.frame import Depth, Pixels
from poise.frames.proxy import proxy
from poise.scopes.clipping import count_clipped
from poise.solve.exposure import solve_exposure
from poise.solve.illuminant import SIZE, Illuminant, angle
from poise.solve.levels import MOST_LOST, solve_levels
from poise.solve.measured import TINTED, Measured, measure, noise_after
from poise.solve.neutral import Neutral, solve_neutral
from poise.solve.saturation import solve_saturation
from poise.solve.working_code import run


@dataclass(frozen=True)
class Solution:
    """A correction, and one sentence for each decision.

    Attributes:
        illuminant: the light that was found and how sure that is; None of a grey picture.
    """

    correction: Correction
    notes: tuple[str, ...]
    illuminant: Illuminant | None = None

    @property
    def confidence(self) -> float | None:
        """How sure the neutral balance is, 0..1: how probable it is that the true light is within 3 degrees."""
        return self.illuminant.confidence if self.illuminant else None


def auto(pixels: Pixels, encoding: Encoding, depth: Depth, found: Illuminant | None = None) -> Solution:
    """A neutral, well-ranged starting point.

    Args:
        pixels: (height, width, 1 or 3) in file codes of `depth`.
        found: the light, where other shots of the scene tell it (`poise.solve.together`); None looks for it.

    Raises:
        PoiseError: the encoding names an unknown transfer function or primaries.

    Example:
        auto(frame.colour, CODED, frame.depth).notes
    """
    return finish(measure(pixels, encoding, depth), found)


def finish(one: Measured, found: Illuminant | None = None) -> Solution:
    """The starting point of a picture that was measured, under the light that was found in it, or in others with it."""
    encoding, depth, full, found = one.encoding, one.depth, one.full, found or one.illuminant
    neutral = Neutral(note="greyscale: no balance")
    if found is not None:
        neutral = solve_neutral(found, one.linear, encoding, one.floor.by_channel)
        found = neutral.illuminant
    light = replace(one.floor.light, warmth=neutral.warmth, magenta=neutral.magenta)
    lit = one.linear @ light_matrix(light.warmth, light.magenta, primaries=encoding.primaries).T
    exposed = solve_exposure(lit, encoding, under=depth.is_float)
    level = Correction(light=replace(light, exposure=exposed.stops), balance=Balance(neutral.slope))
    if found is not None and found.one_colour and angle(found.light) > TINTED:
        return Solution(level, (neutral.note, "one colour: flare, levels and saturation left alone"), found)
    through = order.steps(level, encoding, clamp=False)
    stretch = solve_levels(run(through, full), noise_after(one, through), encoding.work_primaries, one.spoilt)
    notes = [note for note in (one.floor.note, neutral.note, exposed.note, stretch.note) if note]
    saturation = 1.0 if found is None else solve_saturation(stretch.gain)
    levelled = replace(level, levels=stretch.levels)
    correction = replace(levelled, saturation=saturation)
    share, end = _lost(correction, one) if not depth.is_float else (0.0, "")  # a float is never clamped
    if saturation != 1 and share > MOST_LOST and (less := _lost(levelled, one))[0] <= MOST_LOST:
        correction, (share, end) = levelled, less
        notes.append("saturation left alone: to give it back would crush or clip colours")
    elif saturation != 1:
        notes.append(f"saturation {saturation:.2f}, given back for the stretch of x{stretch.gain:.2f}")
    if share > MOST_LOST:
        notes.append(f"{share:.0%} of the picture {end} in one channel at least: look at that end of the parade")
    return Solution(correction, tuple(notes), found)


def _lost(correction: Correction, one: Measured) -> tuple[float, str]:
    """The share of pixels that a correction takes to the end where they are most, beside the delivery without one."""
    most = one.depth.maximum
    ways = (order.steps(each, one.encoding, clamp=False) for each in (NEUTRAL, correction))
    plain, made = (
        np.floor(run(way, proxy(one.full, *SIZE)) * most + 0.5) / most for way in ways
    )  # as rounded into a file
    crushed, clipped = count_clipped(plain, made, (0, 1), (0, 1))
    pixels = plain[..., 0].size
    return max((crushed / pixels, "is crushed"), (clipped / pixels, "is clipped"))
