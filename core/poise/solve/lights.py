"""The plane of lights, along the Planckian locus and across it, and what is believed of each before a picture is seen.

Lights near the locus are likelier than green or purple ones; a picture may well be balanced already; and a recording
may have gains that no lamp makes.
"""

from functools import lru_cache

import numpy as np
import numpy.typing as npt

from poise.colour.adaptation import planckian_light

Array = npt.NDArray[np.float64]

MIREDS = np.arange(50.0, 600.0, 8.0)
ACROSS = np.arange(-1.2, 1.21, 0.04)
"""Natural logarithms of red/green and blue/green, away from the locus; 0.33 are 10 CC of green or magenta."""
CENTRE, NEAR = -0.05, 0.08
"""Between the Planckian and the daylight locus, and how near lights keep to them."""
LIKELY, LIKELY_SIGMA = 250.0, 75.0
"""In mired: most lights are between daylight and lamplight."""
BALANCED, BALANCED_SIGMA = 10.0, 0.05
"""How much likelier a picture is balanced already than lit by any one light, and how exactly."""
GAINS, GAINS_SIGMA = 0.03, 0.35
"""How likely a recording has gains of any direction, and how large, beside one light."""
REACH = 0.1
"""Belief farther from the estimate than this counts less and less: of two peaks, the estimate lies on one."""
CLOSE = 3.0
"""Degrees about the estimate; the belief within is the confidence."""


@lru_cache(maxsize=8)
def prior(primaries: str) -> tuple[Array, Array]:
    """The plane of lights, (n, 2), and the logarithm of the belief in each before a picture is seen, (n,)."""
    locus = np.array([ratios(planckian_light(mired, primaries)) for mired in MIREDS])
    along = np.gradient(locus, axis=0)
    along /= np.linalg.norm(along, axis=1, keepdims=True)
    normal = np.stack([-along[:, 1], along[:, 0]], axis=1)
    normal *= np.sign(normal.sum(axis=1, keepdims=True))
    plane = (locus[:, None] + ACROSS[:, None] * normal[:, None]).reshape(-1, 2)
    across, mireds = np.tile(ACROSS, len(MIREDS)), np.repeat(MIREDS, len(ACROSS))
    off = (plane**2).sum(axis=1)
    lamps = np.exp(-(((mireds - LIKELY) / LIKELY_SIGMA) ** 2) / 2)
    balanced = BALANCED * np.exp(-off / (2 * BALANCED_SIGMA**2))
    gains = GAINS * np.exp(-off / (2 * GAINS_SIGMA**2))
    return plane, np.log((lamps + balanced) / (1 + ((across - CENTRE) / NEAR) ** 2) + gains + 1e-300)


def settled(likelihood: Array, primaries: str) -> tuple[Array, float]:
    """The light, (3,), green 1, that is believed in after pictures are seen, and the belief within 3 degrees of it.

    Args:
        likelihood: (n,) logarithms, of each light of the plane.
    """
    plane, before = prior(primaries)
    belief = np.exp(before + likelihood - (before + likelihood).max())
    belief /= belief.sum()
    found, lights = light(_peak(plane, belief)), light(plane)
    cosines = lights @ found / (np.linalg.norm(lights, axis=1) * np.linalg.norm(found))
    return found, float(belief[cosines > np.cos(np.radians(CLOSE))].sum())


def nearest(light: Array, primaries: str) -> int:
    """The index of the light of the plane that comes nearest to a light, (3,)."""
    return int(np.argmin(((prior(primaries)[0] - ratios(light)) ** 2).sum(axis=1)))


def _peak(plane: Array, belief: Array) -> Array:
    """The mean of the belief about its peak: a few steps of mean shift from the mean of all."""
    at = belief @ plane
    for _ in range(4):
        near = belief / (1 + ((plane - at) ** 2).sum(axis=1) / REACH**2)
        at = near @ plane / near.sum()
    return np.asarray(at)


def ratios(light: Array) -> Array:
    """Natural logarithms of red/green and blue/green, (..., 2)."""
    light = np.maximum(light, 1e-9)
    return np.asarray(np.log(np.clip(light[..., [0, 2]] / light[..., 1:2], 1e-3, 1e3)))


def light(ratios: Array) -> Array:
    """The light, (..., 3), green 1, of such logarithms, (..., 2)."""
    red, blue = np.exp(ratios[..., 0]), np.exp(ratios[..., 1])
    return np.stack([red, np.ones_like(red), blue], axis=-1)
