"""Reflectances and lights as tables on one wavelength grid, and what linear BT.709 sees of them."""

from functools import cache

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

WAVELENGTHS = np.arange(380.0, 785.0, 5.0)
CHARTS = ("BabelColor Average", "ISO 17321-1", "ColorChecker N Ohta", "PMC")
"""Measured charts that colour-science carries in `SDS_COLOURCHECKERS`."""
SKINS = ("Caucasian", "Oriental", "South Asian", "African")
"""Skin patches of 'PMC'; the first chart adds 'dark skin' and 'light skin'."""
LEAVES = (("BabelColor Average", "foliage"), ("PMC", "Summer Grass"), ("PMC", "Green Apple"), ("invented", "leaf"))


@cache
def chart(name: str) -> tuple[tuple[str, ...], Array]:
    """Patch names and reflectances, (patches, wavelengths), of a measured chart."""
    import colour

    spectra = colour.SDS_COLOURCHECKERS[name]
    return tuple(spectra), np.array([_on_grid(sd) for sd in spectra.values()])


def reflectance(source: str, name: str) -> Array:
    """One reflectance, (wavelengths,), of a chart or of those that are invented here."""
    if source == "invented":
        return leaf()
    names, table = chart(source)
    return table[names.index(name)]


def leaf() -> Array:
    """A leaf: invented, no source.

    Chlorophyll absorbs about 430 to 480 nm and about 670 nm, lets green at 550 nm back, and beyond 690 nm a leaf is
    bright; the curve has those features and no measured figures.
    """
    w = WAVELENGTHS
    green = 0.11 * np.exp(-(((w - 552) / 34) ** 2))
    red_edge = 0.45 / (1 + np.exp(-(w - 715) / 9))
    return np.asarray(0.045 + green + red_edge - 0.012 * np.exp(-(((w - 672) / 16) ** 2)))


def grey(level: float) -> Array:
    """A perfectly neutral reflectance."""
    return np.full(WAVELENGTHS.size, level)


@cache
def light(name: str) -> Array:
    """A light's relative power, (wavelengths,): a name of `SDS_ILLUMINANTS`, or a Planckian radiator as '3200 K'."""
    import colour

    if name.endswith(" K"):
        return np.asarray(1 / (WAVELENGTHS**5 * np.expm1(1.4388e7 / (WAVELENGTHS * float(name[:-2])))))
    return _on_grid(colour.SDS_ILLUMINANTS[name])


def seen(reflectances: Array, under: str) -> Array:
    """Linear BT.709, (n, 3), of reflectances, (n, wavelengths), under a light (CIE 1931 2 degree; white has luma 1)."""
    return reflectances @ _sensitivity(under)


@cache
def _sensitivity(under: str) -> Array:
    import colour

    observer = _on_grid(colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"])
    lit = light(under)[:, None] * observer
    to_rgb = np.linalg.inv(colour.RGB_COLOURSPACES["ITU-R BT.709"].matrix_RGB_to_XYZ)
    return np.asarray(lit / lit[:, 1].sum() @ to_rgb.T)


def _on_grid(spectrum: object) -> Array:
    import colour

    shape = colour.SpectralShape(WAVELENGTHS[0], WAVELENGTHS[-1], 5)
    aligned = spectrum.copy().align(shape)  # type: ignore[attr-defined]
    return np.asarray(aligned.values, np.float64)
