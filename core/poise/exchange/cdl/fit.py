"""A CDL for what none holds exactly: the least-squares fit over a shot's own pixels, and how far off it is."""

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
    """How far off a fit is from the correction, over all pixels and channels.

    Attributes:
        mean, worst: of the absolute differences, in codes of the file; of float files, where 1 is full signal.
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
    """The CDL that comes nearest to a correction on a picture, and how far off it is there.

    Least squares in delivery code, or in sRGB code where the delivery is linear, so that shadows count as seen. All
    numbers are within what poise itself takes; a grey picture has one slope, offset and power.

    Args:
        pixels: (height, width, 1 or 3) in file codes of `depth`, the whole picture.

    Raises:
        PoiseError: the engine can't apply this correction to this picture.
    """
    goal = compile_engine(correction, encoding, depth).apply(pixels)
    plain = Encoding(range=encoding.range)  # a CDL works on the file's code, whatever the source goes through
    seen, wanted = (full_range(_few(values), plain, depth) for values in (pixels, goal))
    whole = np.isfinite(seen).all(axis=1) & np.isfinite(wanted).all(axis=1)
    linear = encoding.delivery == "linear"
    found = Cdl()
    if whole.any():
        made = nearest(seen[whole], wanted[whole], not depth.is_float, linear)
        found = Cdl(made.balance.slope, made.balance.offset, made.balance.power, made.saturation)
    return found, residual(pixels, goal, found, encoding, depth)


def residual(pixels: Pixels, goal: Pixels, cdl: Cdl, encoding: Encoding, depth: Depth) -> Residual:
    """How far a CDL is off a goal, over every pixel; one that is not a number in either is left out.

    Args:
        pixels, goal: (height, width, 1 or 3) in file codes of `depth`.
    """
    engine = compile_engine(cdl.correction, Encoding(range=encoding.range), depth)
    total, count, worst = 0.0, 0, 0.0
    for part, aim in zip(strips(pixels), strips(goal), strict=True):
        with np.errstate(invalid="ignore"):
            apart = np.abs(engine.apply(part).astype(np.float64) - aim)
        apart = apart[np.isfinite(apart)]
        total, count = total + float(apart.sum()), count + apart.size
        worst = max(worst, float(apart.max(initial=0.0)))
    return Residual(total / max(count, 1), worst, depth.maximum)


def _few(pixels: Pixels) -> Pixels:
    flat = pixels.reshape(-1, pixels.shape[-1])
    return flat[:: -(-len(flat) // FEW)]
