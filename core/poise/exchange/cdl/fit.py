"""Fits a CDL to a correction that no CDL represents: least squares over the shot's own pixels, with the residual."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from poise.correction.model import Correction, Encoding
from poise.engine import compile_engine
from poise.exchange.cdl.model import Cdl
from poise.frames.frame import Depth, Pixels
from poise.scopes.signal import strips
from poise.solve.ten_numbers import FEW, nearest
from poise.solve.working_code import full_range

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Residual:
    """The difference between a fit and the correction, over all pixels and channels.

    Attributes:
        mean, worst: of the absolute differences, in codes of the file; for float files 1 is full signal.
        maximum: the code of full scale; 1 for float.
    """

    mean: float
    worst: float
    maximum: int

    def __str__(self) -> str:
        if self.maximum == 1:
            return f"off by {self.mean:.6f} on average, {self.worst:.6f} at worst (1 is full signal)"
        return f"off by {self.mean:.2f} codes on average, {self.worst:.0f} at worst, of {self.maximum}"


def fit(pixels: Pixels, correction: Correction, encoding: Encoding, depth: Depth) -> tuple[Cdl, Residual]:
    """Fit a CDL to a correction on a picture; returns the CDL and its residual.

    Least squares in delivery code, or in sRGB code if the delivery is linear, so that shadows count as they are
    seen. All numbers are within the limits of poise; a grey picture gets one slope, offset and power for all channels.

    Args:
        pixels: (height, width, 1 or 3) in file codes of `depth`, the whole picture.

    Raises:
        PoiseError: the engine can't apply this correction to this picture.
    """
    goal = compile_engine(correction, encoding, depth).apply(pixels)
    plain = Encoding(range=encoding.range)  # a CDL applies to the file's code, regardless of the source conversion
    given, wanted = (full_range(_few(values), plain, depth) for values in (pixels, goal))
    whole = np.isfinite(given).all(axis=1) & np.isfinite(wanted).all(axis=1)
    linear = encoding.delivery == "linear"
    found = Cdl()
    if whole.any():
        made = nearest(given[whole], wanted[whole], not depth.is_float, linear)
        found = Cdl(made.balance.slope, made.balance.offset, made.balance.power, made.saturation)
    return found, residual(pixels, goal, found, encoding, depth)


def residual(pixels: Pixels, goal: Pixels, cdl: Cdl, encoding: Encoding, depth: Depth) -> Residual:
    """Measure the difference between a CDL and a goal over every pixel; values that are not finite are left out.

    Args:
        pixels, goal: (height, width, 1 or 3) in file codes of `depth`.
    """
    engine = compile_engine(cdl.correction, Encoding(range=encoding.range), depth)
    total, count, worst = 0.0, 0, 0.0
    for part, aim in zip(strips(pixels), strips(goal), strict=True):
        with np.errstate(invalid="ignore"):
            difference = np.abs(engine.apply(part).astype(np.float64) - aim)
        difference = difference[np.isfinite(difference)]
        total, count = total + float(difference.sum()), count + difference.size
        worst = max(worst, float(difference.max(initial=0.0)))
    return Residual(total / max(count, 1), worst, depth.maximum)


def _few(pixels: Pixels) -> Pixels:
    flat = pixels.reshape(-1, pixels.shape[-1])
    return flat[:: -(-len(flat) // FEW)]
