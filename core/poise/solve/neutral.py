"""Neutral balance: the light of a picture estimated by shades-of-gray, and the warmth and magenta that undo it."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from poise.colour.adaptation import light_matrix
from poise.colour.luma import luma, weights
from poise.colour.transfer import encode
from poise.correction.controls import MAGENTA, WARMTH
from poise.correction.model import Encoding

Array = npt.NDArray[np.float64]
NORM = 6
LEAST_DEGREES = 0.7
"""A smaller error is left alone: the estimator itself errs by more on most pictures."""
ONE_COLOUR_SPREAD = 0.08
"""Standard deviation of log chromaticity under which a picture counts as all one colour."""
ONE_COLOUR_SHARE = 0.25
MOST_MAGENTA = 40.0
MOST_SLOPE = 2.5
MIDDLING = 0.5
"""Light of the neutral that the slope levels exactly."""


def shades_of_gray(light: Array, norm: float = NORM) -> Array:
    """The estimated illuminant, (3,), green 1: each channel's Minkowski mean (Finlayson & Trezzi 2004).

    Args:
        light: (..., 3) linear light; negative and non-finite values are left out.

    Example:
        >>> shades_of_gray(np.array([[0.2, 0.1, 0.05], [0.4, 0.2, 0.1]])).round(6).tolist()
        [2.0, 1.0, 0.5]
    """
    pixels = light.reshape(-1, 3)
    pixels = np.clip(pixels[np.isfinite(pixels).all(axis=1)], 0, None)
    if not pixels.size or pixels.max() <= 0:
        return np.ones(3)
    scaled = pixels / pixels.max()
    means = np.mean(scaled**norm, axis=0) ** (1 / norm)
    return means / means[1] if means[1] > 0 else np.ones(3)


def angle(estimate: npt.ArrayLike, truth: npt.ArrayLike = (1, 1, 1)) -> float:
    """The angular error between two illuminants, in degrees."""
    a, b = np.asarray(estimate, float), np.asarray(truth, float)
    cosine = a @ b / (np.linalg.norm(a) * np.linalg.norm(b))
    return float(np.degrees(np.arccos(np.clip(cosine, -1, 1))))


@dataclass(frozen=True)
class Neutral:
    """What levels a picture's neutrals: warmth in mired, magenta in CC, a slope for what these can't reach, and why."""

    warmth: float = 0.0
    magenta: float = 0.0
    slope: tuple[float, float, float] = (1.0, 1.0, 1.0)
    note: str = ""


def solve_neutral(light: Array, encoding: Encoding) -> Neutral:
    """The warmth and magenta under which the estimated illuminant becomes neutral.

    A picture that is near enough is left alone. One that is all one colour may honestly be so: no statistic can
    tell, so only a share of the correction is made.

    Args:
        light: (..., 3) linear light in the encoding's primaries.
    """
    estimate = shades_of_gray(light)
    error = angle(estimate)
    if error < LEAST_DEGREES:
        return Neutral(note=f"neutrals are level within {error:.1f} degrees: left alone")
    note = f"estimated light {error:.1f} degrees off neutral"
    if _spread(light) < ONE_COLOUR_SPREAD:
        estimate = estimate**ONE_COLOUR_SHARE
        note += "; the picture is all one colour, so only a quarter of it is corrected"
    warmth, magenta = undo(estimate, encoding.primaries)
    warmth, magenta = round(warmth, 2), round(float(np.clip(magenta, -MOST_MAGENTA, MOST_MAGENTA)), 2)
    slope = _rest(light_matrix(warmth, magenta, primaries=encoding.primaries) @ estimate, encoding)
    note += f": warmth {warmth:+.1f} mired, magenta {magenta:+.1f} CC"
    if slope != (1, 1, 1):
        note += ", and slope for the rest, beyond the reach of warmth"
    return Neutral(warmth, magenta, slope, note)


def _rest(left: Array, encoding: Encoding) -> tuple[float, float, float]:
    """The slopes in work code that level what is left of the illuminant, luma of a middling neutral held."""
    if angle(left) < LEAST_DEGREES:
        return (1.0, 1.0, 1.0)
    by = weights(encoding.primaries)
    left = left / luma(left[0], left[1], left[2], by)
    gains = encode(encoding.work, MIDDLING) / encode(encoding.work, MIDDLING * np.clip(left, 0.05, 20))
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


def _spread(light: Array) -> float:
    pixels = light.reshape(-1, 3)
    pixels = pixels[np.isfinite(pixels).all(axis=1) & (pixels > 1e-4).all(axis=1)]
    if len(pixels) < 2:
        return 0.0
    ratios = np.log(pixels[:, [0, 2]] / pixels[:, 1:2])
    return float(np.sqrt(ratios.var(axis=0).sum()))
