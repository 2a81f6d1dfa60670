"""Real photographs that installed packages carry, as sRGB code."""

from collections.abc import Iterator
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path

import numpy as np
import numpy.typing as npt
from skimage import io

Code = npt.NDArray[np.float64]
Window = tuple[int, int, int, int]


@dataclass(frozen=True)
class Photograph:
    """One picture of the set.

    Attributes:
        name: of the file, and of the window where it is a part of one.
        code: (height, width, 3) sRGB code, 1 is full scale.
    """

    name: str
    code: Code


WHOLE: tuple[tuple[str, str], ...] = (
    ("skimage", "data/astronaut.png"),
    ("skimage", "data/chelsea.png"),
    ("skimage", "data/coffee.png"),
    ("skimage", "data/motorcycle_left.png"),
    ("skimage", "data/rocket.jpg"),
    ("skimage", "data/hubble_deep_field.jpg"),
    ("skimage", "data/retina.jpg"),
    ("skimage", "data/ihc.png"),
    ("sklearn", "datasets/images/china.jpg"),
    ("sklearn", "datasets/images/flower.jpg"),
)
WINDOWS: tuple[tuple[str, str, str, Window], ...] = (
    ("skimage", "data/astronaut.png", "suit", (230, 0, 282, 300)),
    ("skimage", "data/coffee.png", "table", (0, 0, 400, 230)),
    ("skimage", "data/motorcycle_left.png", "shelves", (0, 280, 250, 461)),
    ("skimage", "data/rocket.jpg", "lamps", (250, 0, 177, 640)),
    ("sklearn", "datasets/images/china.jpg", "roofs", (150, 60, 277, 400)),
)
"""Package, file, name of the window, and its top, left, height and width: a part of a picture has other darks, lights
and colours than the whole, but is no independent photograph."""


def photographs(packages: tuple[str, ...] = ("skimage", "sklearn")) -> Iterator[Photograph]:
    """Every picture of the set that the packages carry.

    Raises:
        ModuleNotFoundError: a package is not installed.
    """
    for package, file in WHOLE:
        if package in packages:
            yield Photograph(Path(file).stem, _read(package, file))
    for package, file, name, (top, left, height, width) in WINDOWS:
        if package in packages:
            part = _read(package, file)[top : top + height, left : left + width]
            yield Photograph(f"{Path(file).stem}, {name}", part)


def _read(package: str, file: str) -> Code:
    found = find_spec(package)
    if found is None or found.origin is None:
        raise ModuleNotFoundError(f"{package} is not installed: pip install -e .[test]")
    return np.asarray(io.imread(Path(found.origin).parent / file)[..., :3] / 255.0)
