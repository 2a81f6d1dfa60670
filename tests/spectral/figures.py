"""Angular errors of auto and of each estimator alone, against the true light of every scene."""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
from scenes import Scene

from poise.colour.transfer import decode
from poise.correction import CODED
from poise.frames.frame import Depth
from poise.solve.estimators import gray_world, grey_edge, max_rgb, shades_of_gray
from poise.solve.illuminant import Illuminant, angle
from poise.solve.measured import measure

Errors = dict[str, npt.NDArray[np.float64]]
NONE, AUTO = "none", "auto"
ALONE = {"gray-world": gray_world, "max-RGB": max_rgb, "shades-of-gray": shades_of_gray, "grey-edge": grey_edge}


def found(scene: Scene) -> Illuminant:
    """What auto makes of a scene."""
    measured = measure(scene.code, CODED, Depth.U16 if scene.code.dtype == np.uint16 else Depth.U8)
    assert measured.illuminant is not None
    return measured.illuminant


def _told(scene: Scene) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.bool_]]:
    """Linear light, and which pixels are not clipped."""
    most = np.iinfo(scene.code.dtype).max
    return decode("sRGB", scene.code / most), (scene.code < most).all(axis=-1)


def errors(scenes: Sequence[Scene], lights: Sequence[Illuminant]) -> Errors:
    """Degrees between the light that would be undone and the true one: doing nothing, each estimator, and auto."""
    result = {}
    for name in (NONE, *ALONE, AUTO):
        off = []
        for scene, light in zip(scenes, lights, strict=True):
            # what auto holds back of a light counts against it
            estimate = np.ones(3) if name == NONE else light.undone if name == AUTO else ALONE[name](*_told(scene))
            off.append(angle(estimate, scene.truth))
        result[name] = np.array(off)
    return result


def mean_95_worst(values: npt.NDArray[np.float64]) -> tuple[float, float, float]:
    return float(values.mean()), float(np.percentile(values, 95)), float(values.max())
