"""Fits a CDL to a correction that no CDL represents: least squares over the shot's own pixels, with the residual."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from poise.chain import order, saturation
from poise.colour.transfer import encode
from poise.correction import controls as c
from poise.correction.model import Correction, Encoding
from poise.engine import compile_engine
from poise.exchange.cdl.model import Cdl, Triple
from poise.frames.frame import Depth, Pixels
from poise.scopes.signal import strips
from poise.solve.working_code import full_range, run

Array = npt.NDArray[np.float64]

FEW, FEWER = 8192, 2048
"""Numbers of evenly sampled pixels for the final and the first fit; the residual uses all pixels."""
POWERS = np.geomspace(0.25, 4, 17)
SATURATIONS = (1.0, 0.7, 0.85, 1.2, 1.5, 2.0)
"""Start values; the fit starts from the best."""
ENDS = 0.002
"""Values closer than this to 0 or 1 may be clamped, and are not used for start values."""
DECIMALS = 7
"""Decimals of the numbers of a fit: a tenth of what changes a 16-bit code."""


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
    found = _fitted(given[whole], wanted[whole], not depth.is_float, linear) if whole.any() else Cdl()
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


def _fitted(x: Array, y: Array, clamp: bool, linear: bool) -> Cdl:
    """The CDL that maps x to y best, each (n, 1 or 3)."""
    from scipy.optimize import least_squares

    n = x.shape[1]

    def weighed(values: Array) -> Array:
        return encode("sRGB", values) if linear else values

    controls = [c.SLOPE] * n + [c.OFFSET] * n + [c.POWER] * n + [c.SATURATION] * (n == 3)
    low, high = (np.array([getattr(control, end) for control in controls]) for end in ("low", "high"))
    best: Array | None = None
    for few in (FEWER, FEW):
        every = -(-len(x) // few)
        some, aim = x[::every], weighed(y[::every])

        def miss(numbers: Array, some: Array = some, aim: Array = aim) -> Array:
            return (weighed(_through(some, numbers, clamp)) - aim).ravel()

        def cost(numbers: Array) -> float:
            return float(np.square(miss(numbers)).sum())

        start = min(_starts(some, y[::every], low, high), key=cost) if best is None else best
        inside = np.clip(start, low + 1e-6, high - 1e-6)
        result = least_squares(miss, inside, bounds=(low, high), x_scale="jac", xtol=1e-9, max_nfev=60)
        best = result.x if cost(result.x) <= cost(start) else start
    assert best is not None
    return _cdl(np.round(best, DECIMALS))


def _starts(x: Array, y: Array, low: Array, high: Array) -> list[Array]:
    """Start values: line fits to the goal after undoing a saturation and a power."""
    n = x.shape[1]
    neutral = np.array([1.0] * n + [0.0] * n + [1.0] * n + [1.0] * (n == 3))
    found = [neutral]
    for sat in SATURATIONS if n == 3 else (1.0,):
        before = _desaturated(y, sat) if n == 3 else y
        lines = np.array([_line(x[:, i], before[:, i]) for i in range(n)])
        found.append(np.clip(np.concatenate([*lines.T, [sat] * (n == 3)]), low, high))
    return found


def _desaturated(y: Array, by: float) -> Array:
    """Undo a saturation, which does not change luma."""
    (undone,) = saturation.stages(1 / by) or (lambda v: v,)
    return np.asarray(undone(y))


def _line(x: Array, y: Array) -> tuple[float, float, float]:
    """Approximate slope, offset and power of one channel."""
    usable = (y > ENDS) & (y < 1 - ENDS)
    if usable.sum() < 16 or np.ptp(x[usable]) < 1e-6:
        return 1.0, 0.0, 1.0
    x, y = x[usable], y[usable]
    best = (np.inf, (1.0, 0.0, 1.0))
    for power in POWERS:
        slope, offset = np.polyfit(x, y ** (1 / power), 1)
        miss = float(np.square(np.maximum(slope * x + offset, 0) ** power - y).sum())
        best = min(best, (miss, (float(slope), float(offset), float(power))))
    return best[1]


def _cdl(numbers: Array) -> Cdl:
    n = 3 if len(numbers) == 10 else 1

    def triple(at: int) -> Triple:
        red, green, blue = (float(v) for v in np.broadcast_to(numbers[at * n : at * n + n], 3))
        return red, green, blue

    return Cdl(triple(0), triple(1), triple(2), float(numbers[9]) if n == 3 else 1.0)


def _through(x: Array, numbers: Array, clamp: bool) -> Array:
    colour = np.repeat(x, 3, axis=1) if x.shape[1] == 1 else x
    return run(order.steps(_cdl(numbers).correction, Encoding(), clamp), colour)[:, : x.shape[1]]
