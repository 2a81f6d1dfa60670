"""How near each way of correcting brings degraded photographs to their originals, and to each other.

The truth is the photograph as it was, though none is perfectly balanced itself. A correction is found on the file as
recorded, with its noise, and judged on the same degradation without noise, so that noise itself is no error.
"""

import zlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

import colour
import numpy as np
import numpy.typing as npt
from baselines import NOTHING
from degradations import DEGRADATIONS, recorded
from photographs import Photograph

Array = npt.NDArray[np.float64]
WHITE = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D65"]
PIXELS = 4000
"""About as many of each picture are judged, on an even grid."""


@dataclass(frozen=True)
class Case:
    """One photograph, degraded and recorded in one way, corrected in one way.

    Attributes:
        off: mean CIEDE2000 to the original.
        apart: mean CIEDE2000 to where the untouched photograph lands by the same way.
    """

    photograph: str
    degradation: str
    recording: str
    way: str
    off: float
    apart: float


def cases(pictures: Iterable[Photograph], recordings: Iterable[str], ways: Mapping[str, Any]) -> list[Case]:
    """Every photograph, degraded and recorded in every way, corrected in every way."""
    recordings, result = list(recordings), []
    for picture in pictures:
        step = max(1, round((picture.code[..., 0].size / PIXELS) ** 0.5))
        truth, landed = _lab(picture.code[::step, ::step]), {}
        for degrade in DEGRADATIONS:
            rng = np.random.default_rng(zlib.crc32(f"{picture.name} {degrade.__name__}".encode()))
            degraded = degrade(picture.code, rng)
            seen = np.clip(degraded[::step, ::step], 0, 1)
            for recording in recordings:
                pixels = recorded(degraded, recording, rng)
                for way, solve in ways.items():
                    made = _lab(solve(pixels)(seen))
                    home = landed.setdefault((way, recording), made)
                    named = (picture.name, degrade.__name__.replace("_", " "), recording, way)
                    result.append(Case(*named, _difference(made, truth), _difference(made, home)))
    return result


@dataclass(frozen=True)
class Figures:
    """Of some cases.

    Attributes:
        mean, most, worst: CIEDE2000 to the original: mean, 95th percentile and worst of the cases' means.
        spoilt: share of the cases that doing nothing leaves nearer by more than 1.
        apart: mean CIEDE2000 to where the untouched photograph lands.
    """

    mean: float
    most: float
    worst: float
    spoilt: float
    apart: float


def figures(some: Iterable[Case], way: str, degradation: str | None = None, recording: str | None = None) -> Figures:
    """Figures of one way, on one degradation and recording or on all."""
    fit = [case for case in some if degradation in (None, case.degradation) and recording in (None, case.recording)]
    plain = {(c.photograph, c.degradation, c.recording): c.off for c in fit if c.way == NOTHING}
    mine = [case for case in fit if case.way == way]
    off = np.array([case.off for case in mine])
    left = np.array([plain[case.photograph, case.degradation, case.recording] for case in mine])
    apart = float(np.mean([case.apart for case in mine]))
    most = float(np.percentile(off, 95))
    return Figures(float(off.mean()), most, float(off.max()), float(np.mean(off > left + 1)), apart)


def _lab(code: Array) -> Array:
    return np.asarray(colour.XYZ_to_Lab(colour.sRGB_to_XYZ(np.clip(code, 0, 1)), WHITE))


def _difference(a: Array, b: Array) -> float:
    return float(np.mean(colour.delta_E(a, b, method="CIE 2000")))
