"""The light of a picture: what four estimators say of it, weighed against each other and against what lights there are.

Belief is spread over a plane of lights, along the Planckian locus and across it. Lights near the locus are likelier
than green or purple ones, and a picture may well be balanced already. Each estimator multiplies that belief by a bell
with long ends about its own answer, so that those who agree carry the day and one who errs is outvoted. Its width grows
where the estimator has little to go by. The figures were fitted on rendered spectra, mostly under other lights than
those of the tests; none is published.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from poise.colour.adaptation import planckian_light
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

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

MIREDS = np.arange(50.0, 600.0, 8.0)
ACROSS = np.arange(-1.2, 1.21, 0.04)
"""Natural logarithms of red/green and blue/green, away from the locus; 0.33 are 10 CC of green or magenta."""
CENTRE, NEAR = -0.05, 0.08
"""Between the Planckian and the daylight locus, and how near lights keep to them."""
LIKELY, LIKELY_SIGMA = 250.0, 75.0
"""In mired: most lights are between daylight and lamplight."""
BALANCED, BALANCED_SIGMA = 3.0, 0.05
"""How much likelier a picture is balanced already than lit by any one light, and how exactly."""
FREEDOM = 3.0
"""Of the Student t that each estimator's error follows: the fewer, the longer its ends."""
SURFACE, VARIETY = 0.65, 0.12
"""How far the colour of one surface lies from neutral, and the standard deviation of log chromaticity at which there
are enough surfaces for that to count for a half: what is all one colour says little of its light."""
ONE_COLOUR, OTHER = 0.06, 0.15
"""Below the first a picture is called so, where no estimator, seeing highlights, is farther from gray-world."""
ONE_COLOUR_SHARE = 0.25
"""How much of such a picture's light is undone, and how much of the confidence is left: it may honestly be so."""
UNSURE = 0.2
"""Confidence below which only a part of the light is undone, down to a quarter: a guess must do no harm."""
REACH = 0.1
"""Belief farther from the estimate than this counts less and less: of two peaks, the estimate lies on one."""
CLOSE = 3.0
"""Degrees about the estimate; the belief within is the confidence."""
DARKEST = 0.03
"""Share of the brightest below which chromaticity is mostly noise."""
FLOOR = 0.05
"""Share of its brightest channel that is added to a colour before chromaticities are compared."""
SIZE = 240, 135
"""The most pixels that are looked at, width and height: more tell no more of the light."""
CONTRAST = 0.02
"""Of the brightest edge to the brightest pixel; where it is less, edges are noise, and grey-edge is not asked."""
LEAST_TOLD = 0.02
"""Share of the pixels that must not be clipped for the clipped ones to be left out."""


@dataclass(frozen=True)
class Illuminant:
    """The light of a picture.

    Attributes:
        light: (3,) linear, green 1.
        confidence: 0..1, how probable it is, as far as the picture tells, that the true light is within 3 degrees.
        share: 0..1, how much of it should be undone.
        estimates: what each estimator says alone, (3,), by its name.
        one_colour: whether the picture is all one colour, so that no statistic can tell its light.
    """

    light: Array
    confidence: float
    share: float
    estimates: dict[str, Array]
    one_colour: bool

    @property
    def undone(self) -> Array:
        """The light that should be undone, (3,), green 1: all of it, or a share."""
        return np.asarray(self.light**self.share)


def angle(estimate: npt.ArrayLike, truth: npt.ArrayLike = (1, 1, 1)) -> float:
    """The angular error between two illuminants, in degrees."""
    a, b = np.asarray(estimate, float), np.asarray(truth, float)
    cosine = a @ b / (np.linalg.norm(a) * np.linalg.norm(b))
    return float(np.degrees(np.arccos(np.clip(cosine, -1, 1))))


def illuminant(light: Array, clipped: Mask | None = None, primaries: str = "ITU-R BT.709") -> Illuminant:
    """The light that a picture stands in.

    Args:
        light: (height, width, 3) linear light in the primaries.
        clipped: (height, width) pixels whose colour is lost in the highlights.

    Raises:
        PoiseError: unknown primaries.

    Example:
        illuminant(decode("sRGB", code), (code >= 1).any(axis=-1)).confidence
    """
    light = proxy(light, *SIZE)
    told: Mask = np.asarray(np.isfinite(light).all(axis=-1))
    clipped = None if clipped is None else proxy(clipped, *SIZE)
    if clipped is not None and (told & ~clipped).sum() >= LEAST_TOLD * told.size:
        told &= ~clipped
    pixels = light[told]
    if not len(pixels) or pixels.max() <= 0:
        return Illuminant(np.ones(3), 0.0, 1.0, {}, False)
    pixels, lengths = np.clip(pixels, 0, None), edges(light, told)
    white, highlight = common_peak(pixels), common_peak(lengths)
    asked = {
        "gray-world": (gray_world(light, told), 0.4),
        "max-RGB": (max_rgb(light, told), 0.02 + 2.0 * (1 - white)),
        "shades-of-gray": (shades_of_gray(light, told), 0.08 + 2.0 * (1 - white)),
        "grey-edge": (grey_edge(light, told), 0.05 + 0.8 * (1 - highlight)),
    }
    if not len(lengths) or np.percentile(lengths, BRIGHTEST) < CONTRAST * np.percentile(pixels, BRIGHTEST):
        del asked["grey-edge"]
    mean, variety, other = _floored(asked["gray-world"][0]), _variety(light, told), 0.0
    plane, belief = _prior(primaries)
    for estimate, width in asked.values():
        apart = float(np.linalg.norm(_floored(estimate) - mean))  # highlights on one colour make variety too
        unsure = np.hypot(width, SURFACE / (1 + (variety**2 + apart**2) / VARIETY**2))
        missed = ((plane - _ratios(estimate)) ** 2).sum(axis=1) / unsure**2
        belief = belief - (FREEDOM + 1) / 2 * np.log1p(missed / FREEDOM)
        other = max(other, apart)
    belief = np.exp(belief - belief.max())
    belief /= belief.sum()
    found, lights = _light(_peak(plane, belief)), _light(plane)
    cosines = lights @ found / (np.linalg.norm(lights, axis=1) * np.linalg.norm(found))
    sure = float(belief[cosines > np.cos(np.radians(CLOSE))].sum())
    one_colour = variety < ONE_COLOUR and other < OTHER
    sure *= ONE_COLOUR_SHARE if one_colour else 1.0
    share = ONE_COLOUR_SHARE if one_colour else min(max(sure / UNSURE, ONE_COLOUR_SHARE), 1.0)
    estimates = {name: estimate for name, (estimate, _) in asked.items()}
    return Illuminant(found, sure, share, estimates, one_colour)


def _peak(plane: Array, belief: Array) -> Array:
    """The mean of the belief about its peak: a few steps of mean shift from the mean of all."""
    at = belief @ plane
    for _ in range(4):
        near = belief / (1 + ((plane - at) ** 2).sum(axis=1) / REACH**2)
        at = near @ plane / near.sum()
    return np.asarray(at)


@lru_cache(maxsize=8)
def _prior(primaries: str) -> tuple[Array, Array]:
    """The plane of lights, (n, 2), and the logarithm of the belief in each before a picture is seen, (n,)."""
    locus = np.array([_ratios(planckian_light(mired, primaries)) for mired in MIREDS])
    along = np.gradient(locus, axis=0)
    along /= np.linalg.norm(along, axis=1, keepdims=True)
    normal = np.stack([-along[:, 1], along[:, 0]], axis=1)
    normal *= np.sign(normal.sum(axis=1, keepdims=True))
    plane = (locus[:, None] + ACROSS[:, None] * normal[:, None]).reshape(-1, 2)
    across, mireds = np.tile(ACROSS, len(MIREDS)), np.repeat(MIREDS, len(ACROSS))
    lights = np.exp(-(((mireds - LIKELY) / LIKELY_SIGMA) ** 2) / 2)
    balanced = BALANCED * np.exp(-(plane**2).sum(axis=1) / (2 * BALANCED_SIGMA**2))
    return plane, np.log(lights + balanced + 1e-300) - np.log1p(((across - CENTRE) / NEAR) ** 2)


def _variety(light: Array, told: Mask) -> float:
    """The standard deviation of log chromaticity of what is not too dark, noise smoothed away."""
    smooth = smoothed(light, told)[told]
    brightest = smooth.max(axis=1)
    smooth = smooth[brightest > DARKEST * brightest.max()]
    return float(np.sqrt(_floored(smooth).var(axis=0).sum())) if len(smooth) > 1 else 0.0


def _floored(light: Array) -> Array:
    """Log chromaticity in which a channel with next to nothing in it, such as blue under a lamp, does not run away."""
    return _ratios(light + FLOOR * light.max(axis=-1, keepdims=True))


def _ratios(light: Array) -> Array:
    """Natural logarithms of red/green and blue/green, (..., 2)."""
    light = np.maximum(light, 1e-9)
    return np.asarray(np.log(np.clip(light[..., [0, 2]] / light[..., 1:2], 1e-3, 1e3)))


def _light(ratios: Array) -> Array:
    red, blue = np.exp(ratios[..., 0]), np.exp(ratios[..., 1])
    return np.stack([red, np.ones_like(red), blue], axis=-1)
