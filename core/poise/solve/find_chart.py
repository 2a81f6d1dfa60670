"""A chart of 24 patches found in a picture, where it lies near enough and not too slanted; else its corners are set."""

from typing import Any

import numpy as np
import numpy.typing as npt

from poise.colour.transfer import decode, encode
from poise.correction.model import Correction, Encoding
from poise.errors import PoiseError
from poise.frames.frame import Depth, Pixels
from poise.frames.proxy import proxy
from poise.solve.chart import Charted, chart
from poise.solve.illuminant import illuminant
from poise.solve.patches import Corners
from poise.solve.working_code import full_range

SIZE = 1280, 720
"""The most pixels that are looked at, width and height."""
WIDTH = 1000
"""That a picture is brought to, in pixels, for the first try."""
MOST = 3
"""Places that are looked at in each try."""
TRIES = ((1.0, 1.0), (1.0, 0.6), (1.6, 1.0))
"""Size and power: the detector misses a chart at one and sees it at the next, and what it sees is checked."""
EDGES = 0.08
"""How far a patch's outline may be from straight, of its length."""


def find_chart(pixels: Pixels, encoding: Encoding, depth: Depth, correction: Correction | None = None) -> Charted:
    """The chart that OpenCV's detector finds in the picture, if its patches are those of one.

    The picture is balanced by its estimated light first: the detector was made for pictures in daylight.

    Args and errors as `poise.solve.chart.chart`; also PoiseError if there is none.

    Example:
        find_chart(frame.colour, CODED, frame.depth).corners
    """
    if pixels.shape[-1] != 3:
        raise PoiseError("a grey picture has no colours to compare with a chart")
    fault = "no chart found; set its corners, the outer ones of its four corner patches"
    balanced = _balanced(pixels, encoding, depth)
    for size, power in TRIES:
        for corners in _places(balanced, size, power):
            try:
                return chart(pixels, corners, encoding, depth, correction)
            except PoiseError as refused:
                if "clipped" in str(refused):
                    fault = str(refused)
    raise PoiseError(fault)


def _places(picture: npt.NDArray[np.uint8], size: float, power: float) -> list[Corners]:
    """Where the detector sees charts: corners as shares of the picture."""
    import cv2

    scale = np.rint(255 * (np.arange(256) / 255) ** power).astype(np.uint8)
    size *= WIDTH / picture.shape[1]
    picture = np.asarray(cv2.resize(scale[picture], None, fx=size, fy=size, interpolation=cv2.INTER_LINEAR), np.uint8)
    cv2.setRNGSeed(1)  # it guesses at random; one picture must always have one answer
    detector: Any = cv2.mcc.CCheckerDetector.create()
    detector.setColorChartType(cv2.mcc.MCC24)  # both are left to chance by OpenCV 5.0.0 unless they are set
    detector.setUseDnnModel(False)
    settings = detector.getDetectionParams()
    settings.findCandidatesApproxPolyDPEpsMultiplier = EDGES
    detector.setDetectionParams(settings)
    if not detector.process(np.ascontiguousarray(picture[..., ::-1]), MOST):
        return []
    height, width = picture.shape[:2]
    places = []
    for found in detector.getListColorChecker():
        box = np.clip(np.asarray(found.getBox(), np.float64) / [width, height], 0, 1)
        places.append(tuple((float(x), float(y)) for x, y in box))
    return places  # type: ignore[return-value]


def _balanced(pixels: Pixels, encoding: Encoding, depth: Depth) -> npt.NDArray[np.uint8]:
    small = proxy(pixels, *SIZE)
    light = decode(encoding.given, full_range(small, encoding, depth))
    light = np.where(np.isfinite(light), light, 0) / illuminant(light, primaries=encoding.primaries).light
    light = light / max(float(np.percentile(light, 99.5)), 1e-9)
    return np.asarray(np.rint(255 * np.clip(encode("sRGB", np.clip(light, 0, 1)), 0, 1)), np.uint8)
