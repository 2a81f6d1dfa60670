"""The light of a picture: what up to six estimators say of it, weighed against each other and against known lights.

Belief is spread over a plane of lights (`poise.solve.lights`). Each estimator multiplies it by a Student t about its
own answer, so that estimators that agree prevail and one that errs is outvoted. The t is wider where the estimator has
little to go by. The widths were set coarsely on rendered spectra and degraded photographs; none is published.
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
"""Scale of each estimator's error at best, in natural logarithms."""
FREEDOM = 3.0
"""Of the Student t that each estimator's error follows: the fewer, the longer its ends."""
SURFACE, VARIETY = 0.65, 0.12
"""How far the colour of one surface lies from neutral, and the standard deviation of log chromaticity at which there
are enough surfaces for that to count for a half: what is all one colour says little of its light."""
ONE_COLOUR, OTHER = 0.06, 0.15
"""Below the first a picture is called so, where no estimator, seeing highlights, is farther from gray-world."""
ONE_COLOUR_SHARE = 0.25
"""How much of such a picture's light is undone, and how much of the confidence is left: it may honestly be so."""
LAMP, NO_LAMP = 37.0, 45.0
"""Degrees off neutral, in BT.709: lamps reach the first (CIE illuminant A and warm LEDs 36), and what is beyond the
second is the colour of the subject, of which no more is undone than of a picture of one colour."""
UNSURE = 0.2
"""Confidence below which the light is undone in proportion: a guess must do no harm."""
CEILING_SURFACE = 0.1
"""How far the highest red, green and blue lie from a white's in a picture of one colour: less than a surface does."""
OVER = 0.2
"""How much wider the ceilings' error is where all three channels are clipped: that tells less than a white in range."""
BEYOND = 0.0
"""A clipped channel may have been higher: an error to that side counts for this much."""
DARKEST = 0.03
"""Share of the brightest below which chromaticity is mostly noise."""
FLOOR = 0.05
"""Share of its brightest channel that is added to a colour before chromaticities are compared."""
SIZE = 240, 135
"""The most pixels that are looked at, width and height: more tell no more of the light."""
CONTRAST = 0.02
"""Of the brightest edge to the brightest pixel; where it is less, edges are noise, and grey-edge is not asked."""
LEAST_COUNTED = 0.02
"""Share of the pixels that must not be clipped for the clipped ones to be left out."""


@dataclass(frozen=True)
class Ceiling:
    """The highest red, green and blue of a picture.

    Attributes:
        light: (3,) linear.
        clipped: (3,) whether a channel ends there because the recording does.
        white: 0..1, how far one and the same pixel reaches all three.
    """

    light: Array
    clipped: Mask
    white: float


@dataclass(frozen=True)
class Illuminant:
    """The light of a picture.

    Attributes:
        light: (3,) linear, green 1.
        confidence: 0..1, how probable it is, as far as the picture tells, that the true light is within 3 degrees.
        share: 0..1, how much of it should be undone.
        estimates: what each estimator says alone, (3,), by its name.
        one_colour: whether the picture is all one colour, so that no statistic can tell its light.
        likelihood: (n,) what the picture says of each light of the plane, as logarithms; all 0 where it says nothing.
        shots: how many pictures tell it.
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
        """The light that should be undone, (3,), green 1: all of it, or a share."""
        return np.asarray(self.light**self.share)


def angle(estimate: npt.ArrayLike, truth: npt.ArrayLike = (1, 1, 1)) -> float:
    """The angular error between two illuminants, in degrees."""
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
    """The light that a picture stands in.

    Args:
        light: (height, width, 3) linear light in the primaries.
        clipped: (height, width) pixels whose colour is lost in the highlights.
        ceiling: of the picture; not asked when None.
        veil: (3,) linear light that is scattered over the picture; not asked when None.

    Raises:
        PoiseError: unknown primaries.

    Example:
        illuminant(decode("sRGB", code), (code >= 1).any(axis=-1)).confidence
    """
    light, counted = _counted(light, clipped)
    pixels = light[counted]
    if not len(pixels) or pixels.max() <= 0:
        return Illuminant(np.ones(3), 0.0, 0.0, {}, False, np.zeros(len(prior(primaries)[0])))
    pixels, lengths = np.clip(pixels, 0, None), edges(light, counted)
    white, highlight = common_peak(pixels), common_peak(lengths)
    asked = {
        "gray-world": (gray_world(light, counted), WIDTH["gray-world"]),
        "max-RGB": (max_rgb(light, counted), WIDTH["max-RGB"] + 2.0 * (1 - white)),
        "shades-of-gray": (shades_of_gray(light, counted), WIDTH["shades-of-gray"] + 2.0 * (1 - white)),
        "grey-edge": (grey_edge(light, counted), WIDTH["grey-edge"] + 0.8 * (1 - highlight)),
    }
    if not len(lengths) or np.percentile(lengths, BRIGHTEST) < CONTRAST * np.percentile(pixels, BRIGHTEST):
        del asked["grey-edge"]
    mean, variety, other = _floored(asked["gray-world"][0]), _variety(light, counted), 0.0
    if ceiling is not None:
        over = OVER if ceiling.clipped.all() else 0.0
        width = WIDTH["ceiling"] + 0.6 * (1 - ceiling.white**2) + over
        asked["ceiling"] = (ceiling.light / max(ceiling.light[1], 1e-9), width)
    if veil is not None:
        asked["veil"] = (veil / veil[1], WIDTH["veil"])
    plane, _ = prior(primaries)
    likelihood = np.zeros(len(plane))
    for name, (estimate, width) in asked.items():
        apart = float(np.linalg.norm(_floored(estimate) - mean))  # highlights on one colour make variety too
        surface = CEILING_SURFACE if name in ("ceiling", "veil") else SURFACE
        unsure = np.hypot(width, surface / (1 + (variety**2 + apart**2) / VARIETY**2))
        missed = plane - ratios(estimate)
        if name == "ceiling" and ceiling is not None:
            missed = _bounded(missed, ceiling.clipped)
        elif name != "veil":
            other = max(other, apart)
        likelihood -= (FREEDOM + 1) / 2 * np.log1p((missed**2).sum(axis=1) / unsure**2 / FREEDOM)
    found, sure = settled(likelihood, primaries)
    one_colour = variety < ONE_COLOUR and other < OTHER
    estimates = {name: estimate for name, (estimate, _) in asked.items()}
    return weighed(found, sure, estimates, one_colour, likelihood)


def is_varied(light: Array, clipped: Mask | None = None) -> bool:
    """Whether a picture shows too many colours to be called all one; a quick look.

    Args:
        light, clipped: as `illuminant`.
    """
    return _variety(*_counted(light, clipped)) >= ONE_COLOUR


def weighed(found: Array, sure: float, estimates: dict[str, Array], one_colour: bool, likelihood: Array) -> Illuminant:
    """A light that was found, and how much of it should be undone: in proportion to how sure it is, below `UNSURE`."""
    if one_colour:
        return Illuminant(found, sure * ONE_COLOUR_SHARE, ONE_COLOUR_SHARE, estimates, True, likelihood)
    lamp = float(np.interp(angle(found), [LAMP, NO_LAMP], [1, ONE_COLOUR_SHARE]))
    return Illuminant(found, sure, lamp * min(sure / UNSURE, 1.0), estimates, False, likelihood)


def _counted(light: Array, clipped: Mask | None) -> tuple[Array, Mask]:
    """A picture made small, and which of its pixels tell something of the light."""
    light = proxy(light, *SIZE)
    counted: Mask = np.asarray(np.isfinite(light).all(axis=-1))
    clipped = None if clipped is None else proxy(clipped, *SIZE)
    if clipped is not None and (counted & ~clipped).sum() >= LEAST_COUNTED * counted.size:
        counted &= ~clipped
    return light, counted


def _bounded(missed: Array, clipped: Mask) -> Array:
    """How far lights miss the ceilings' ratios, (n, 2), where a clipped channel's ceiling is the least it can be."""
    red, green, blue = clipped
    if clipped.all():
        return missed
    up, down = np.where([red, blue], BEYOND, 1.0), BEYOND if green else 1.0
    return np.asarray(missed * np.where(missed > 0, up, down))


def _variety(light: Array, counted: Mask) -> float:
    """The standard deviation of log chromaticity of what is not too dark, noise smoothed away."""
    smooth = smoothed(light, counted)[counted]
    if not len(smooth):
        return 0.0
    brightest = smooth.max(axis=1)
    smooth = smooth[brightest > DARKEST * brightest.max()]
    return float(np.sqrt(_floored(smooth).var(axis=0).sum())) if len(smooth) > 1 else 0.0


def _floored(light: Array) -> Array:
    """Log chromaticity in which a channel with next to nothing in it, such as blue under a lamp, does not run away."""
    return ratios(light + FLOOR * light.max(axis=-1, keepdims=True))
