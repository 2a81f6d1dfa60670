"""Neutral balance: the warmth, magenta and slope that make the illuminant of a picture neutral."""

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
"""Smaller casts are not corrected: on most pictures the error of the estimate is larger."""
BEYOND = "which warmth and magenta can't correct"
MOST_MAGENTA = 40.0
MOST_SLOPE = 2.5
MIDDLING = 0.5
"""The linear light of the grey at which slope is exact, if it corrects what warmth and magenta can't."""
BELOW, MOST_BELOW = 1.5e-4, 0.02
"""Linear light below minus the first, half an 8-bit step, is no colour of a surface; at most the second, a share of the
pixels, may fall below it by a correction."""


@dataclass(frozen=True)
class Neutral:
    """The controls that make the greys of a picture neutral.

    Attributes:
        warmth: in mired.
        magenta: in CC.
        slope: of red, green and blue, for what warmth and magenta can't correct.
        note: one clause for the user: the estimate, its confidence and what was corrected.
        illuminant: the illuminant that was estimated; None if none was.
    """

    warmth: float = 0.0
    magenta: float = 0.0
    slope: tuple[float, float, float] = (1.0, 1.0, 1.0)
    note: str = ""
    illuminant: Illuminant | None = None


def solve_neutral(found: Illuminant, linear: Array, encoding: Encoding, by_channel: float = 0.0) -> Neutral:
    """The warmth and magenta that make the estimated illuminant neutral, with slope for the rest.

    Casts below LEAST_DEGREES are not corrected. Only a part of a cast is corrected if the estimate is uncertain, if the
    picture has a single colour, or if more of it would push colours below black.

    Args:
        found: the illuminant, in the encoding's primaries.
        linear: (height, width, 3) the picture in linear light.
        by_channel: 0..1, the share of the cast that is a gain of each channel in code, which slope corrects exactly;
            taken as 0 for an illuminant of several shots.

    Raises:
        PoiseError: the encoding names an unknown transfer function or primaries.

    Example:
        >>> level = Illuminant(np.ones(3), 0.9, 1.0, {}, False, np.zeros(1))
        >>> solve_neutral(level, np.full((2, 2, 3), 0.5), Encoding()).note
        'neutrals are level within 0.0 degrees, 90 % sure: left alone'
    """
    error, asked = angle(found.light), found.share
    if found.shots == 1:
        found = possible(found, linear, encoding.primaries, by_channel)
    else:
        by_channel = 0.0  # the shots share a light, so a gain of this shot alone is no part of it
    sure, estimate = f"{100 * found.confidence:.0f} % sure", found.undone
    whose = "estimated light" if found.shots == 1 else f"light of {found.shots} shots"
    note = f"{whose} {error:.1f} degrees off neutral, {sure}"
    if angle(estimate) < LEAST_DEGREES and found.share < asked:
        return Neutral(note=f"{note}: left alone, since correcting it would push colours below black", illuminant=found)
    if angle(estimate) < LEAST_DEGREES:
        return Neutral(note=f"neutrals are level within {error:.1f} degrees, {sure}: left alone", illuminant=found)
    if found.share < asked:
        note += f"; correcting more than {100 * found.share:.0f} % of it would push colours below black"
    elif found.one_colour:
        note += f"; the picture is all one colour, so only {100 * found.share:.0f} % of it is corrected"
    elif found.share < 1:
        note += f"; the estimate is uncertain, so only {100 * found.share:.0f} % of it is corrected"
    warmth, magenta = undo(estimate ** (1 - by_channel), encoding.primaries)
    warmth, magenta = round(warmth, 2), round(float(np.clip(magenta, -MOST_MAGENTA, MOST_MAGENTA)), 2)
    left = light_matrix(warmth, magenta, primaries=encoding.primaries) @ estimate
    slope = rest(left, encoding, 1.0 if by_channel else MIDDLING)
    note += f": warmth {warmth:+.1f} mired, magenta {magenta:+.1f} CC"
    if slope != (1, 1, 1):
        why = "since each channel was lifted separately in code" if by_channel else BEYOND
        note += f", and slope for the rest, {why}"
    return Neutral(warmth, magenta, slope, note, found)


def possible(found: Illuminant, linear: Array, primaries: str, by_channel: float = 0.0) -> Illuminant:
    """The illuminant with its share reduced so far that correcting it pushes few colours below black.

    No surface has a negative reflectance, so a light that would need one is not the light of the picture (Forsyth, A
    novel algorithm for color constancy, 1990). The confidence is reduced in the same proportion.

    Args:
        found: the illuminant, in the primaries.
        linear: (height, width, 3) the picture in linear light; values that are not finite are ignored.
        by_channel: 0..1, as in `solve_neutral`.

    Raises:
        PoiseError: unknown primaries.

    Example:
        >>> level = Illuminant(np.ones(3), 0.9, 1.0, {}, False, np.zeros(1))
        >>> possible(level, np.full((2, 2, 3), 0.5), "ITU-R BT.709").share
        1.0
    """
    pixels = linear[np.isfinite(linear).all(axis=-1)]
    already = pixels < -BELOW

    def fits(part: float) -> bool:
        warmth, magenta = undo(found.light ** (found.share * part * (1 - by_channel)), primaries)
        below = pixels @ light_matrix(warmth, magenta, primaries=primaries).T < -BELOW
        return float((below & ~already).any(axis=-1).sum()) <= MOST_BELOW * len(pixels)

    if fits(1.0):
        return found
    part = 0.0
    for step in 0.5 ** np.arange(1, 7):
        part += step if fits(part + step) else 0.0
    return replace(found, share=found.share * part, confidence=found.confidence * part)


def rest(left: Array, encoding: Encoding, level: float = MIDDLING) -> tuple[float, float, float]:
    """The slope of each channel, in work code, that makes the rest of an illuminant neutral at the same luma.

    Args:
        left: (3,) linear light that warmth and magenta left uncorrected, in the encoding's primaries.
        level: the linear light of the grey at which the slope is exact.

    Returns:
        Within 1 / MOST_SLOPE..MOST_SLOPE; 1, 1, 1 if the rest is below LEAST_DEGREES.

    Raises:
        PoiseError: the encoding names an unknown transfer function or primaries.

    Example:
        >>> rest(np.ones(3), Encoding())
        (1.0, 1.0, 1.0)
    """
    if angle(left) < LEAST_DEGREES:
        return (1.0, 1.0, 1.0)
    by = weights(encoding.primaries)
    left = left / luma(left[0], left[1], left[2], by)
    gains = encode(encoding.work, level) / encode(encoding.work, level * np.clip(left, 0.05, 20))
    red, green, blue = (round(float(g), 4) for g in np.clip(gains, 1 / MOST_SLOPE, MOST_SLOPE))
    return red, green, blue


def undo(estimate: Array, primaries: str) -> tuple[float, float]:
    """The warmth in mired and magenta in CC that make a light neutral, within the limits of these controls.

    Newton's method on the logarithms of red/green and blue/green.

    Args:
        estimate: (3,) linear light in the primaries, green 1; red and blue are clipped to 0.02..50.

    Raises:
        PoiseError: unknown primaries.

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
