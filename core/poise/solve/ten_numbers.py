"""The nearest slope, offset, power and saturation: a least-squares fit over pixels, for what these can't hold."""

import numpy as np
import numpy.typing as npt

from poise.chain import order, saturation
from poise.colour.transfer import encode
from poise.correction import controls as c
from poise.correction.model import Balance, Correction, Encoding
from poise.solve.working_code import run

Array = npt.NDArray[np.float64]

FEW, FEWER = 8192, 2048
"""Pixels that are fitted to in the end and at first, evenly chosen."""
POWERS = np.geomspace(0.25, 4, 17)
SATURATIONS = (1.0, 0.7, 0.85, 1.2, 1.5, 2.0)
"""Where a fit may start from: the best of these."""
ENDS = 0.002
"""Values nearer to 0 or 1 may be clamped, and say nothing about where to start."""
DECIMALS = 7
"""Of the numbers of a fit: a tenth of what changes a 16-bit code."""


def nearest(x: Array, y: Array, clamp: bool, linear: bool = False, guard: float = 0.0) -> Correction:
    """The slope, offset, power and saturation that come nearest from values to values, by least squares.

    All numbers are within what poise itself takes; a grey picture has one slope, offset and power.

    Args:
        x, y: (n, 1 or 3) full-range code, n at least 1; finite.
        clamp: hold values to 0..1 where ASC CDL does.
        linear: they are linear light, and count in sRGB code, so that shadows count as seen.
        guard: how much more a value counts that goes beyond an end of the scale where y does not; 0 for as any other.

    Example:
        >>> ramp = np.linspace(0, 1, 64)[:, None]
        >>> nearest(ramp, ramp * 0.5, clamp=True).balance.slope
        (0.5, 0.5, 0.5)
    """
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
            made = weighed(_through(some, numbers, clamp and not guard))
            beyond = made - np.clip(made, np.minimum(aim, ENDS), np.maximum(aim, 1 - ENDS)) if guard else 0
            return (made - aim + guard * beyond).ravel()

        def cost(numbers: Array) -> float:
            return float(np.square(miss(numbers)).sum())

        start = min(_starts(some, y[::every], low, high), key=cost) if best is None else best
        inside = np.clip(start, low + 1e-6, high - 1e-6)
        result = least_squares(miss, inside, bounds=(low, high), x_scale="jac", xtol=1e-9, max_nfev=60)
        best = result.x if cost(result.x) <= cost(start) else start
    assert best is not None
    return _correction(np.round(best, DECIMALS))


def _starts(x: Array, y: Array, low: Array, high: Array) -> list[Array]:
    """Numbers near the goal: straight lines to what is left of it once a saturation and a power are taken out."""
    n = x.shape[1]
    neutral = np.array([1.0] * n + [0.0] * n + [1.0] * n + [1.0] * (n == 3))
    found = [neutral]
    for sat in SATURATIONS if n == 3 else (1.0,):
        before = _desaturated(y, sat) if n == 3 else y
        lines = np.array([_line(x[:, i], before[:, i]) for i in range(n)])
        found.append(np.clip(np.concatenate([*lines.T, [sat] * (n == 3)]), low, high))
    return found


def _desaturated(y: Array, by: float) -> Array:
    """What a saturation was applied to: it leaves luma as it is."""
    (undone,) = saturation.stages(1 / by) or (lambda v: v,)
    return np.asarray(undone(y))


def _line(x: Array, y: Array) -> tuple[float, float, float]:
    """Slope, offset and power of one channel, near to the best."""
    told = (y > ENDS) & (y < 1 - ENDS)
    if told.sum() < 16 or np.ptp(x[told]) < 1e-6:
        return 1.0, 0.0, 1.0
    x, y = x[told], y[told]
    best = (np.inf, (1.0, 0.0, 1.0))
    for power in POWERS:
        slope, offset = np.polyfit(x, y ** (1 / power), 1)
        miss = float(np.square(np.maximum(slope * x + offset, 0) ** power - y).sum())
        best = min(best, (miss, (float(slope), float(offset), float(power))))
    return best[1]


def _correction(numbers: Array) -> Correction:
    n = 3 if len(numbers) == 10 else 1

    def triple(at: int) -> tuple[float, float, float]:
        red, green, blue = (float(v) for v in np.broadcast_to(numbers[at * n : at * n + n], 3))
        return red, green, blue

    return Correction(balance=Balance(triple(0), triple(1), triple(2)), saturation=float(numbers[9]) if n == 3 else 1.0)


def _through(x: Array, numbers: Array, clamp: bool) -> Array:
    colour = np.repeat(x, 3, axis=1) if x.shape[1] == 1 else x
    return run(order.steps(_correction(numbers), Encoding(), clamp), colour)[:, : x.shape[1]]
