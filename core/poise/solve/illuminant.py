"""The illuminant of a picture, from up to six estimators and a prior over known lights.

A probability is computed for each light of a plane (`poise.solve.lights`): the prior, times a Student t distribution
about the result of each estimator, so that estimators that agree outweigh one that errs. The distribution is wider
where the picture gives an estimator little evidence. The widths were set coarsely on rendered spectra and degraded
photographs; none is published.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from poise.frames.proxy import proxy
from poise.solve.estimators import (
    BRIGHTEST,
    common_peak,
    edges,
    gray_world,
    grey_edge,
    max_rgb,
    shades_of_gray,
    smoothed,
)
from poise.solve.lights import prior, ratios, settled

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

WIDTH = {"gray-world": 0.5, "max-RGB": 0.06, "shades-of-gray": 0.14, "grey-edge": 0.1, "ceiling": 0.03, "veil": 0.2}
"""The scale of the error of each estimator under the best conditions, as a natural logarithm."""
FREEDOM = 3.0
"""The degrees of freedom of the Student t distribution; fewer give it heavier tails."""
SURFACE, VARIETY = 0.65, 0.12
"""The spread of surface colours about neutral, and the standard deviation of log chromaticity in the picture at which
half of that spread is added to the scale of an error: a picture of a single colour is little evidence of its light."""
ONE_COLOUR, OTHER = 0.06, 0.15
"""A picture has a single colour if its standard deviation of log chromaticity is below the first, and no estimator
differs from gray-world by the second or more."""
ONE_COLOUR_SHARE = 0.25
"""The share of the light that is corrected in such a picture, and the factor of its confidence: its colour may be that
of the subject."""
LAMP, NO_LAMP = 37.0, 45.0
"""Degrees from neutral, in BT.709: lamps lie within the first (CIE illuminant A and warm LEDs at 36). An estimate
beyond the second is the colour of the subject, and is corrected no more than that of a picture of a single colour."""
UNSURE = 0.2
"""The confidence below which a light is corrected only in proportion to it, so that a poor estimate does little
harm."""
CEILING_SURFACE = 0.1
"""As SURFACE, for ceiling and veil, which the colour of a surface affects less."""
OVER = 0.2
"""What is added to the scale of the ceiling's error if all three channels are clipped."""
BEYOND = 0.0
"""The weight of an error that a clipped channel explains, since its light may have been brighter."""
DARKEST = 0.03
"""The share of the brightest pixel below which chromaticity is mostly noise."""
FLOOR = 0.05
"""The share of its brightest channel that is added to each channel of a colour before chromaticities are compared."""
SIZE = 240, 135
"""The largest width and height in pixels that estimators work on; larger ones don't improve the estimate."""
CONTRAST = 0.02
"""The least ratio of the brightest edge to the brightest pixel; below it edges are noise, and grey-edge is not used."""
LEAST_COUNTED = 0.02
"""The least share of unclipped pixels; with fewer, clipped pixels are used as well."""


@dataclass(frozen=True)
class Ceiling:
    """The highest red, green and blue of a picture.

    Attributes:
        light: (3,) linear light in the primaries of the picture.
        clipped: (3,) whether a channel is clipped there.
        white: 0..1, how close a single pixel comes to all three, as `ends.whiteness`.
    """

    light: Array
    clipped: Mask
    white: float


@dataclass(frozen=True)
class Illuminant:
    """The estimated illuminant of a picture.

    Attributes:
        light: (3,) linear, green 1.
        confidence: 0..1, the probability that the true light is within 3 degrees of it.
        share: 0..1, the share of it that should be corrected.
        estimates: the result of each estimator alone, (3,), by its name.
        one_colour: whether the picture has a single colour, so that no estimator can separate light and subject.
        likelihood: (n,) the log likelihood of each light of the plane; all 0 if the picture holds no evidence.
        shots: the number of pictures that it was estimated from.
    """

    light: Array
    confidence: float
    share: float
    estimates: dict[str, Array]
    one_colour: bool
    likelihood: Array
    shots: int = 1

    @property
    def undone(self) -> Array:
        """The part of the light that should be corrected, (3,), green 1."""
        return np.asarray(self.light**self.share)


def angle(estimate: npt.ArrayLike, truth: npt.ArrayLike = (1, 1, 1)) -> float:
    """The angular error between two illuminants, in degrees.

    Args:
        estimate, truth: (3,) linear light, not all 0.

    Example:
        >>> round(angle((1, 1, 0)), 2)
        35.26
    """
    a, b = np.asarray(estimate, float), np.asarray(truth, float)
    cosine = a @ b / (np.linalg.norm(a) * np.linalg.norm(b))
    return float(np.degrees(np.arccos(np.clip(cosine, -1, 1))))


def illuminant(
    light: Array,
    clipped: Mask | None = None,
    primaries: str = "ITU-R BT.709",
    ceiling: Ceiling | None = None,
    veil: Array | None = None,
) -> Illuminant:
    """Estimates the illuminant of a picture.

    Args:
        light: (height, width, 3) linear light in the primaries.
        clipped: (height, width) the pixels with a clipped channel.
        ceiling: the highest values of the picture; not used if None.
        veil: (3,) the veiling glare over the picture, in linear light; not used if None.

    Raises:
        PoiseError: unknown primaries.

    Example:
        >>> grey = np.repeat(np.random.default_rng(1).uniform(0.1, 0.9, (90, 160, 1)), 3, axis=2)
        >>> angle(illuminant(grey).light) < 1
        True
    """
    light, counted = _counted(light, clipped)
    pixels = light[counted]
    if not len(pixels) or pixels.max() <= 0:
        return Illuminant(np.ones(3), 0.0, 0.0, {}, False, np.zeros(len(prior(primaries)[0])))
    pixels, lengths = np.clip(pixels, 0, None), edges(light, counted)
    white, highlight = common_peak(pixels), common_peak(lengths)
    candidates = {
        "gray-world": (gray_world(light, counted), WIDTH["gray-world"]),
        "max-RGB": (max_rgb(light, counted), WIDTH["max-RGB"] + 2.0 * (1 - white)),
        "shades-of-gray": (shades_of_gray(light, counted), WIDTH["shades-of-gray"] + 2.0 * (1 - white)),
        "grey-edge": (grey_edge(light, counted), WIDTH["grey-edge"] + 0.8 * (1 - highlight)),
    }
    if not len(lengths) or np.percentile(lengths, BRIGHTEST) < CONTRAST * np.percentile(pixels, BRIGHTEST):
        del candidates["grey-edge"]
    mean, variety, other = _floored(candidates["gray-world"][0]), _variety(light, counted), 0.0
    if ceiling is not None:
        over = OVER if ceiling.clipped.all() else 0.0
        width = WIDTH["ceiling"] + 0.6 * (1 - ceiling.white**2) + over
        candidates["ceiling"] = (ceiling.light / max(ceiling.light[1], 1e-9), width)
    if veil is not None:
        candidates["veil"] = (veil / veil[1], WIDTH["veil"])
    plane, _ = prior(primaries)
    likelihood = np.zeros(len(plane))
    for name, (estimate, width) in candidates.items():
        apart = float(np.linalg.norm(_floored(estimate) - mean))  # highlights on a single colour also add variety
        surface = CEILING_SURFACE if name in ("ceiling", "veil") else SURFACE
        scale = np.hypot(width, surface / (1 + (variety**2 + apart**2) / VARIETY**2))
        error = plane - ratios(estimate)
        if name == "ceiling" and ceiling is not None:
            error = _bounded(error, ceiling.clipped)
        elif name != "veil":
            other = max(other, apart)
        likelihood -= (FREEDOM + 1) / 2 * np.log1p((error**2).sum(axis=1) / scale**2 / FREEDOM)
    found, confidence = settled(likelihood, primaries)
    one_colour = variety < ONE_COLOUR and other < OTHER
    estimates = {name: estimate for name, (estimate, _) in candidates.items()}
    return as_illuminant(found, confidence, estimates, one_colour, likelihood)


def is_varied(light: Array, clipped: Mask | None = None) -> bool:
    """Whether a picture has more than a single colour, by the variation of its chromaticity alone.

    Args:
        light: (height, width, 3) linear light.
        clipped: (height, width) the pixels with a clipped channel.

    Example:
        >>> is_varied(np.full((90, 160, 3), 0.5))
        False
    """
    return _variety(*_counted(light, clipped)) >= ONE_COLOUR


def as_illuminant(
    found: Array, confidence: float, estimates: dict[str, Array], one_colour: bool, likelihood: Array
) -> Illuminant:
    """The illuminant of an estimated light, with the share of it that should be corrected.

    Args:
        found: (3,) linear light, green 1.
        confidence: 0..1, the probability that it is within 3 degrees.
        estimates, one_colour, likelihood: as in `Illuminant`.

    Example:
        >>> as_illuminant(np.ones(3), 0.1, {}, one_colour=False, likelihood=np.zeros(1)).share
        0.5
    """
    if one_colour:
        return Illuminant(found, confidence * ONE_COLOUR_SHARE, ONE_COLOUR_SHARE, estimates, True, likelihood)
    lamp = float(np.interp(angle(found), [LAMP, NO_LAMP], [1, ONE_COLOUR_SHARE]))
    return Illuminant(found, confidence, lamp * min(confidence / UNSURE, 1.0), estimates, False, likelihood)


def _counted(light: Array, clipped: Mask | None) -> tuple[Array, Mask]:
    """A picture reduced to SIZE, and the pixels of it that estimators use."""
    light = proxy(light, *SIZE)
    counted: Mask = np.asarray(np.isfinite(light).all(axis=-1))
    clipped = None if clipped is None else proxy(clipped, *SIZE)
    if clipped is not None and (counted & ~clipped).sum() >= LEAST_COUNTED * counted.size:
        counted &= ~clipped
    return light, counted


def _bounded(error: Array, clipped: Mask) -> Array:
    """The errors of lights against the ceiling, (n, 2), reduced where a brighter clipped channel would explain them."""
    red, green, blue = clipped
    if clipped.all():
        return error
    up, down = np.where([red, blue], BEYOND, 1.0), BEYOND if green else 1.0
    return np.asarray(error * np.where(error > 0, up, down))


def _variety(light: Array, counted: Mask) -> float:
    """The standard deviation of log chromaticity over pixels that are not too dark, after smoothing."""
    smooth = smoothed(light, counted)[counted]
    if not len(smooth):
        return 0.0
    brightest = smooth.max(axis=1)
    smooth = smooth[brightest > DARKEST * brightest.max()]
    return float(np.sqrt(_floored(smooth).var(axis=0).sum())) if len(smooth) > 1 else 0.0


def _floored(light: Array) -> Array:
    """Log chromaticity that stays bounded if a channel is almost 0, such as blue under a lamp."""
    return ratios(light + FLOOR * light.max(axis=-1, keepdims=True))
