"""Turns spectral reflectances under a light into linear BT.709, with no adaptation, so that the light's cast stays.

Reflectances are the chart patches of colour-science (`SDS_COLOURCHECKERS`) and mixtures of them; the observer is CIE
1931 2 degree. White under D65 comes out as 1, 1, 1.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import colour
import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
SHAPE = colour.SpectralShape(380, 780, 5)
CHART = "ISO 17321-1"
WHITE, N65, N5, N35, N2 = (
    "white 9.5 (.05 D)", "neutral 6.5 (.44 D)",
    "neutral 5 (.70 D)", "neutral 3.5 (1.05 D)", "black 2 (1.5 D)",
)  # fmt: skip

# Each paint is a mixture of chart reflectances: patch and share. The card's greys are all N6.5, the chart's most even
# one, at the depth of the others, so that one code value is true for red, green and blue.
MIXTURES: dict[str, dict[str, float]] = {
    "white": {WHITE: 1}, "n8": {N65: 1.63}, "n6.5": {N65: 1}, "n5": {N65: 0.54}, "n3.5": {N65: 0.25},
    "black": {N2: 0.55}, "tar": {N2: 0.3}, "slate": {N35: 0.75, "purplish blue": 0.2},
    "skin light": {"light skin": 1}, "skin dark": {"dark skin": 1}, "skin": {"light skin": 0.55, "dark skin": 0.45},
    "sky": {"blue sky": 0.85, WHITE: 0.12, "cyan": 0.12}, "haze": {WHITE: 0.55, "blue sky": 0.4},
    "sea": {"blue sky": 0.35, "cyan": 0.25, N35: 0.3}, "hill": {"foliage": 0.6, "blue sky": 0.35},
    "grass": {"foliage": 0.8, "yellow green": 0.25}, "leaf": {"foliage": 0.8},
    "stone": {N5: 0.6, "light skin": 0.35}, "rock": {N35: 0.7, "dark skin": 0.4}, "sand": {"light skin": 0.5, N65: 0.4},
    "brick": {"moderate red": 0.3, "dark skin": 0.7}, "tile": {"orange": 0.4, "dark skin": 0.6},
    "wood": {"dark skin": 0.9, "orange": 0.1}, "plank": {"light skin": 0.45, "dark skin": 0.5},
    "plaster": {WHITE: 0.85, "light skin": 0.1}, "cream": {WHITE: 0.55, "orange yellow": 0.25, "light skin": 0.15},
    "rose": {"light skin": 0.5, "moderate red": 0.25, WHITE: 0.2}, "mint": {"bluish green": 0.5, WHITE: 0.35},
    "pale blue": {"blue sky": 0.6, WHITE: 0.35}, "ochre": {"orange yellow": 0.5, "light skin": 0.4},
    "red": {"red": 1}, "blue": {"blue": 0.7, "purplish blue": 0.3}, "yellow": {"yellow": 1}, "green": {"green": 1},
    "orange": {"orange": 1}, "teal": {"cyan": 0.7, "bluish green": 0.2}, "plum": {"purple": 1},
    "lime": {"yellow green": 1}, "silver": {N65: 0.7, "blue sky": 0.3}, "glass": {"blue sky": 0.22, N2: 0.6},
}  # fmt: skip


@dataclass(frozen=True)
class Light:
    """A light's name in truth.json, and the CC of magenta filter before the lens (0.01 density of green each)."""

    name: str
    magenta: float = 0.0

    def spectrum(self) -> colour.SpectralDistribution:
        """Return the relative power: `SDS_ILLUMINANTS`, `blackbody 4000 K` or `daylight 9000 K` (CIE 15:2018)."""
        kind, _, rest = self.name.partition(" ")
        if kind == "blackbody":
            return colour.sd_blackbody(float(rest.split()[0]), SHAPE)
        if kind == "daylight":
            xy = colour.temperature.CCT_to_xy_CIE_D(float(rest.split()[0]))
            return colour.sd_CIE_illuminant_D_series(xy).align(SHAPE)
        return colour.SDS_ILLUMINANTS[self.name].copy().align(SHAPE)


@cache
def reflectances() -> dict[str, Array]:
    """Return every paint's spectral reflectance, 0..1, sampled at SHAPE."""
    chart = {name: sd.copy().align(SHAPE).values for name, sd in colour.SDS_COLOURCHECKERS[CHART].items()}
    return {
        paint: sum((share * chart[patch] for patch, share in mixture.items()), np.zeros(len(SHAPE.wavelengths)))
        for paint, mixture in MIXTURES.items()
    }


def palette(light: Light) -> dict[str, Array]:
    """Return every paint, and `lamp` (the light itself, luma of about 1), as linear BT.709 under the light."""
    observer = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"].copy().align(SHAPE).values
    power = light.spectrum().values
    weights = observer * power[:, None] / np.sum(observer[:, 1] * power)
    matrix = colour.RGB_COLOURSPACES["ITU-R BT.709"].matrix_XYZ_to_RGB
    glass = np.array([1.0, 10 ** (-light.magenta / 100), 1.0])
    paints = {name: matrix @ (spectrum @ weights) * glass for name, spectrum in reflectances().items()}
    paints["lamp"] = matrix @ weights.sum(axis=0) * glass
    return paints
