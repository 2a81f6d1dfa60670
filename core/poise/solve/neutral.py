"""Neutral balance: the warmth and magenta that undo the light of a picture, and slope where these end."""

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from poise.colour.adaptation import light_matrix
from poise.colour.luma import luma, weights
from poise.colour.transfer import encode
from poise.correction.controls import MAGENTA, WARMTH
from poise.correction.model import Encoding
from poise.solve.illuminant import Illuminant, angle

Array = npt.NDArray[np.float64]
LEAST_DEGREES = 0.7
"""A smaller error is left alone: the estimator itself errs by more on most pictures."""
MOST_MAGENTA = 40.0
MOST_SLOPE = 2.5
MIDDLING = 0.5
"""Light of the neutral that the slope levels exactly, where it is for the rest beyond the reach of warmth."""
BELOW, MOST_BELOW = 1.5e-4, 0.02
"""A channel below 0 by the first, half a step of 8 bits, is no colour of a surface; the share of the pixels that may
get one as a light is undone."""


@dataclass(frozen=True)
class Neutral:
    """What levels a picture's neutrals: warmth in mired, magenta in CC, a slope for what these can't reach, and why.

    Attributes:
        illuminant: the light that was found, and how sure that is; None where none was looked for.
    """

    warmth: float = 0.0
    magenta: float = 0.0
    slope: tuple[float, float, float] = (1.0, 1.0, 1.0)
    note: str = ""
    illuminant: Illuminant | None = None


def solve_neutral(found: Illuminant, linear: Array, encoding: Encoding, by_channel: float = 0.0) -> Neutral:
    """The warmth and magenta under which the estimated illuminant becomes neutral, and slope for a part of it.

    A picture that is near enough is left alone. One that is all one colour may honestly be so: no statistic can
    tell, so only a share of the correction is made. Where a picture tells little of its light, a part of it is undone.

    Args:
        found: the light, in the encoding's primaries.
        linear: (height, width, 3) the picture in light.
        by_channel: 0..1, how much of the light is a gain of each channel in code, which slope undoes exactly; none of
            a light that shots share.
    """
    error, asked = angle(found.light), found.share
    if found.shots == 1:
        found = possible(found, linear, encoding.primaries, by_channel)
    else:
        by_channel = 0.0  # they share one light, whatever this shot alone makes likely
    sure, estimate = f"{100 * found.confidence:.0f} % sure", found.undone
    whose = "estimated light" if found.shots == 1 else f"light of {found.shots} shots"
    note = f"{whose} {error:.1f} degrees off neutral, {sure}"
    if angle(estimate) < LEAST_DEGREES and found.share < asked:
        return Neutral(note=f"{note}: left alone, since to undo it would send colours below black", illuminant=found)
    if angle(estimate) < LEAST_DEGREES:
        return Neutral(note=f"neutrals are level within {error:.1f} degrees, {sure}: left alone", illuminant=found)
    if found.share < asked:
        note += f"; more than {100 * found.share:.0f} % of it would send colours below black"
    elif found.one_colour:
        note += f"; the picture is all one colour, so only {100 * found.share:.0f} % of it is corrected"
    elif found.share < 1:
        note += f"; the picture tells little of its light, so only {100 * found.share:.0f} % of it is corrected"
    warmth, magenta = undo(estimate ** (1 - by_channel), encoding.primaries)
    warmth, magenta = round(warmth, 2), round(float(np.clip(magenta, -MOST_MAGENTA, MOST_MAGENTA)), 2)
    left = light_matrix(warmth, magenta, primaries=encoding.primaries) @ estimate
    slope = rest(left, encoding, 1.0 if by_channel else MIDDLING)
    note += f": warmth {warmth:+.1f} mired, magenta {magenta:+.1f} CC"
    if slope != (1, 1, 1):
        why = "since each channel was lifted by itself in code" if by_channel else "beyond the reach of warmth"
        note += f", and slope for the rest, {why}"
    return Neutral(warmth, magenta, slope, note, found)


def possible(found: Illuminant, linear: Array, primaries: str, by_channel: float = 0.0) -> Illuminant:
    """The light with as small a share that undoing it sends few colours below black; less sure in proportion.

    No surface reflects less than nothing, so a light that asks for it is not the picture's (Forsyth 1990, A novel
    algorithm for color constancy).

    Args:
        linear, by_channel: as `solve_neutral`.
    """
    pixels = linear[np.isfinite(linear).all(axis=-1)]
    there = pixels < -BELOW

    def fits(part: float) -> bool:
        warmth, magenta = undo(found.light ** (found.share * part * (1 - by_channel)), primaries)
        below = pixels @ light_matrix(warmth, magenta, primaries=primaries).T < -BELOW
        return float((below & ~there).any(axis=-1).sum()) <= MOST_BELOW * len(pixels)

    if fits(1.0):
        return found
    part = 0.0
    for step in 0.5 ** np.arange(1, 7):
        part += step if fits(part + step) else 0.0
    return replace(found, share=found.share * part, confidence=found.confidence * part)


def rest(left: Array, encoding: Encoding, level: float = MIDDLING) -> tuple[float, float, float]:
    """The slopes in work code that level what is left of the illuminant, luma of a neutral held.

    Args:
        level: light of the neutral that is levelled exactly.
    """
    if angle(left) < LEAST_DEGREES:
        return (1.0, 1.0, 1.0)
    by = weights(encoding.primaries)
    left = left / luma(left[0], left[1], left[2], by)
    gains = encode(encoding.work, level) / encode(encoding.work, level * np.clip(left, 0.05, 20))
    red, green, blue = (round(float(g), 4) for g in np.clip(gains, 1 / MOST_SLOPE, MOST_SLOPE))
    return red, green, blue


def undo(estimate: Array, primaries: str) -> tuple[float, float]:
    """The warmth in mired and magenta in CC that make a light neutral, as far as their limits let them.

    Newton's method on the two ratios red/green and blue/green.

    Args:
        estimate: (3,) linear light in the primaries, green 1; ratios beyond 0.02..50 count as these.

    Example:
        >>> warmth, magenta = undo(light_matrix(30, 5) @ np.ones(3), "ITU-R BT.709")
        >>> round(warmth), round(magenta)
        (-30, -5)
    """
    estimate = np.clip(estimate, 0.02, 50)

    def off(w: float, m: float) -> Array:
        r, g, b = np.maximum(light_matrix(w, m, primaries=primaries) @ estimate, 1e-6)
        return np.array([np.log(r / g), np.log(b / g)])

    at = np.zeros(2)
    for _ in range(20):
        here = off(*at)
        slope = np.column_stack([off(at[0] + 0.5, at[1]) - here, off(at[0], at[1] + 0.5) - here]) / 0.5
        step = np.linalg.lstsq(slope, -here, rcond=None)[0]
        at = np.clip(at + np.clip(step, -40, 40), [WARMTH.low, MAGENTA.low], [WARMTH.high, MAGENTA.high])
        if np.abs(step).max() < 1e-3:
            break
    return float(at[0]), float(at[1])
