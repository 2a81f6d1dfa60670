"""Invented scenes of measured reflectances under known lights, as a camera with BT.709 primaries would write them."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from reflectances import CHARTS, LEAVES, SKINS, chart, grey, reflectance, seen
from scipy import ndimage

Array = npt.NDArray[np.float64]

LIGHTS = ("A", "D50", "D65", "FL2", "FL11", "LED-B1")
HEIGHT, WIDTH = 90, 160
LEVEL = 0.9
WALLS = (
    ("PMC", "Orange Yellow"),
    ("BabelColor Average", "green"),
    ("BabelColor Average", "blue"),
    ("PMC", "Unitary red"),
)


@dataclass(frozen=True)
class Scene:
    """A rendered picture and the light that it stands in.

    Attributes:
        kind: chart, skin, foliage, harbour or one colour.
        light: (height, width, 3) linear BT.709, quantised as sRGB code was.
        code: the picture itself, uint16 or uint8 sRGB code.
        truth: (3,) the light in linear BT.709.
    """

    kind: str
    name: str
    under: str
    code: npt.NDArray[np.uint16] | npt.NDArray[np.uint8]
    truth: Array


@dataclass(frozen=True)
class Layout:
    """A scene before there is light: reflectances, where each stands, how it is shaded, and where it shines.

    Attributes:
        surfaces: (n, wavelengths).
        share: (height, width, n) how much of each surface a pixel shows; sums to 1.
        shade: (height, width) of the light that reaches a pixel.
        shine: (height, width) of the light that a pixel mirrors as it is.
    """

    kind: str
    name: str
    surfaces: Array
    share: Array
    shade: Array
    shine: Array
    deep: bool = True


def scenes(lights: Sequence[str] = LIGHTS, seed: int = 1) -> Iterator[Scene]:
    """Every layout under every light."""
    for number, layout in enumerate(layouts(seed)):
        for under in lights:
            yield render(layout, under, np.random.default_rng([seed, number]))


def render(layout: Layout, under: str, rng: np.random.Generator) -> Scene:
    """A layout under a light, with a little noise, its brightest channel's 99th percentile exposed to `LEVEL`."""
    truth = seen(grey(1)[None], under)[0]
    colours = np.clip(seen(layout.surfaces, under), 0, None)
    light = (layout.share @ colours) * layout.shade[..., None] + layout.shine[..., None] * truth
    light *= LEVEL / np.percentile(light.max(axis=-1), 99)
    light += rng.normal(0, 1, light.shape) * (0.0006 + 0.004 * np.sqrt(np.clip(light, 0, None)))
    light = np.clip(light, 0, 1)
    code = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
    deep = np.uint16 if layout.deep else np.uint8
    return Scene(layout.kind, layout.name, under, np.floor(code * np.iinfo(deep).max + 0.5).astype(deep), truth)


def layouts(seed: int) -> Iterator[Layout]:
    """Charts, skin, foliage, a harbour town, and walls of one colour; the seed moves what is invented about them."""
    rng = np.random.default_rng(seed)
    for index, name in enumerate(CHARTS):
        yield _chart(name, rng, index)
    for index in range(3):
        yield _skin(rng, index)
    for index in range(3):
        yield _foliage(rng, index)
    for index in range(4):
        yield _harbour(rng, index)
    for index, wall in enumerate(WALLS):
        yield _wall(wall, rng, index)


def _chart(name: str, rng: np.random.Generator, index: int) -> Layout:
    names, patches = chart(name)
    rows, columns = (5, 6) if len(names) == 30 else (4, 6)
    where = np.full((HEIGHT, WIDTH), len(names))
    left, top, wide = 20, 5, 80 // rows
    for patch in range(len(names)):
        y, x = top + patch // columns * wide, left + patch % columns * wide
        where[y + 2 : y + wide - 1, x + 2 : x + wide - 1] = patch
    board = np.concatenate([patches, [grey(0.04)]])
    where[:, 135:] = rng.integers(0, len(names), (6, 3))[np.ix_(np.arange(HEIGHT) // 15, np.arange(25) // 9)]
    return Layout("chart", name, board, _shares(where, len(board)), _shading(rng, 0.25), _none(), deep=index % 2 == 0)


def _skin(rng: np.random.Generator, index: int) -> Layout:
    """One or two faces before a wall, with hair, a coat and a scarf."""
    skins = [reflectance("PMC", name) for name in SKINS]
    skins += [reflectance("BabelColor Average", name) for name in ("dark skin", "light skin")]
    chosen = rng.permutation(len(skins))[:2]
    wall, coat, scarf = (_muted(rng, share) for share in (0.25, 0.5, 0.9))
    hair = 0.15 * reflectance("BabelColor Average", "dark skin") + grey(0.01)
    surfaces = np.array([wall, skins[chosen[0]], skins[chosen[1]], coat, scarf, hair])
    y, x = np.mgrid[:HEIGHT, :WIDTH]
    where = np.zeros((HEIGHT, WIDTH), int)
    for face, middle in enumerate((50, 112) if index else (80,)):
        where[(y > 68) & (abs(x - middle) < 34)] = 3
        where[((y - 70) / 9) ** 2 + ((x - middle) / 24) ** 2 < 1] = 4
        where[((y - 36) / 34) ** 2 + ((x - middle) / 27) ** 2 < 1] = 5
        where[((y - 42) / 30) ** 2 + ((x - middle) / 21) ** 2 < 1] = 1 + face
    shine = _highlights(rng, 4) if index != 1 else _none()
    return Layout("skin", f"faces {index + 1}", surfaces, _shares(where, 6), _shading(rng, 0.5), shine, deep=index < 2)


def _foliage(rng: np.random.Generator, index: int) -> Layout:
    """A hedge of four greens and bark; in the second a gravel path, in the third a bit of sky and blossom."""
    leaves = [reflectance(*leaf) for leaf in LEAVES]
    bark = 0.5 * reflectance("BabelColor Average", "dark skin") + grey(0.02)
    other = [grey(0.32) * (1 + np.linspace(-0.05, 0.05, bark.size)), reflectance("PMC", "Blue Sky")]
    other.append(reflectance("PMC", "Lavender"))
    surfaces = np.array([*leaves, bark, *other])
    where = _cells(rng, 260, 5)
    y, x = np.mgrid[:HEIGHT, :WIDTH]
    if index == 1:
        where[abs(x - 80) < 6 + 0.3 * y] = 5
    if index == 2:
        where[y < 18 + 4 * np.sin(x / 9)] = 6
        where[(_cells(rng, 260, 9) == 0) & (y > 30)] = 7
    return Layout("foliage", f"hedge {index + 1}", surfaces, _shares(where, 8), _shading(rng, 0.8), _highlights(rng, 3))


def _harbour(rng: np.random.Generator, index: int) -> Layout:
    """House fronts, boats and a quay: muted paints, a few strong ones, stone; in some wet highlights."""
    paints = [_muted(rng, share) for share in (0.1, 0.2, 0.2, 0.3, 0.3, 0.4, 0.6, 0.6, 1.0)]
    stone = [0.3 * _muted(rng, 0.12) + 0.1, 0.5 * _muted(rng, 0.08)]
    surfaces = np.array([*paints, *stone, grey(0.02)])
    where = _cells(rng, 40, len(surfaces))
    y, _ = np.mgrid[:HEIGHT, :WIDTH]
    where[y > 70] = 9
    where[(y > 62) & (y <= 70)] = 10
    shine = _highlights(rng, 6) if index % 2 else _none()
    shading = _shading(rng, 0.6)
    return Layout("harbour", f"quay {index + 1}", surfaces, _shares(where, 12), shading, shine, deep=index != 3)


def _wall(wall: tuple[str, str], rng: np.random.Generator, index: int) -> Layout:
    """One colour from edge to edge; on the second and fourth a few highlights show the light."""
    surfaces = np.array([reflectance(*wall), 0.9 * reflectance(*wall)])
    shine = _highlights(rng, 3) if index % 2 else _none()
    where = _cells(rng, 60, 2)
    return Layout("one colour", wall[1], surfaces, _shares(where, 2), _shading(rng, 0.5), shine)


def _muted(rng: np.random.Generator, most: float) -> Array:
    """A paint: a measured patch mixed into a grey, up to `most` of it."""
    _, patches = chart(CHARTS[rng.integers(len(CHARTS))])
    share = most * rng.uniform(0.5, 1)
    return np.asarray(share * patches[rng.integers(len(patches))] + (1 - share) * grey(rng.uniform(0.05, 0.8)))


def _cells(rng: np.random.Generator, number: int, kinds: int) -> npt.NDArray[np.int_]:
    """Cells about random points, each of a random kind."""
    points = rng.uniform(0, 1, (number, 2)) * [HEIGHT, WIDTH]
    y, x = np.mgrid[:HEIGHT, :WIDTH]
    nearest = np.argmin((y[..., None] - points[:, 0]) ** 2 + 0.6 * (x[..., None] - points[:, 1]) ** 2, axis=-1)
    return np.asarray(rng.integers(0, kinds, number)[nearest])


def _shares(where: npt.NDArray[np.int_], number: int) -> Array:
    """Each pixel shows its surface, and at edges a little of its neighbours'."""
    whole = (where[..., None] == np.arange(number)).astype(np.float64)
    return np.asarray(ndimage.gaussian_filter(whole, (0.6, 0.6, 0)))


def _shading(rng: np.random.Generator, depth: float) -> Array:
    """Soft shading between 1 - depth and 1."""
    rough = ndimage.gaussian_filter(rng.normal(0, 1, (HEIGHT, WIDTH)), 18, mode="wrap")
    return np.asarray(1 - depth * (rough - rough.min()) / np.ptp(rough))


def _highlights(rng: np.random.Generator, number: int) -> Array:
    y, x = np.mgrid[:HEIGHT, :WIDTH]
    shine = _none()
    for _ in range(number):
        top, left, size = rng.uniform(8, 82), rng.uniform(8, 152), rng.uniform(1.2, 2.6)
        shine += rng.uniform(0.3, 1.2) * np.exp(-((y - top) ** 2 + (x - left) ** 2) / (2 * size**2))
    return shine


def _none() -> Array:
    return np.zeros((HEIGHT, WIDTH))
