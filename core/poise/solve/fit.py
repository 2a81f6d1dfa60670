"""Fits of balance and saturation to a goal, through the whole chain that stands behind them."""

from collections.abc import Callable
from dataclasses import dataclass
from dataclasses import replace as with_

import numpy as np
import numpy.typing as npt
from msgspec.structs import replace

from poise.chain import order
from poise.colour.luma import Weights, weights
from poise.correction import controls as c
from poise.correction.model import Balance, Correction, Encoding, Light
from poise.frames.frame import Depth, Pixels
from poise.solve.distribution import chroma, greyed, levels, sampled
from poise.solve.estimators import shades_of_gray
from poise.solve.working_code import full_range, run

Array = npt.NDArray[np.float64]

MOST_GAIN, MOST_POWER, MOST_OFFSET = 4.0, 3.0, 1.0
"""What a fit may do, either way, on top of what the correction does already."""
MOST_SATURATION = 1.5
LEAST_SATURATION = 0.1
"""Less, and what saturation mixed can't be told apart again."""
TIGHT = 0.005
"""Quantiles that miss by more, in work code, count by how far and not by the square of it: what only one of the two
pictures shows pulls less."""
LEAST_TOLD = 0.02
"""Share of a channel's quantiles; of fewer nothing can be told, and the channel stays as it is."""
FEW = 8192
"""Pixels that a fit may run, all of them, again and again."""
STEP = 1e-7
"""Of a parameter, for a derivative: half of the digits of float64."""
ENDS = (0.5, 99.5)
"""The percentiles of luma that are called black and white."""


@dataclass(frozen=True, eq=False)
class Subject:
    """A shot as its balance sees it, and what comes after.

    Attributes:
        lit: (n, 3) work code after the light stage, finite.
        correction: the one that it has.
        clamp: hold values to 0..1 where ASC CDL does.
        by: the weights of luma.
        alike: whether all channels must be changed alike, and luma is matched.
    """

    lit: Array
    correction: Correction
    encoding: Encoding
    clamp: bool
    by: Weights
    alike: bool

    def work(self, correction: Correction) -> Array:
        """Work code, (n, 3), under a correction of the same light, without its mattes."""
        return self._through(self.lit, correction, self.clamp)

    def levels(self, correction: Correction) -> Array:
        """The quantiles of that, (STEPS, 3), or of its luma, (STEPS, 1), where all channels change alike."""
        work = self.work(correction)
        return levels(greyed(work, self.by) if self.alike else work)

    @property
    def source(self) -> Array:
        """What balance gets: (n, 3), or luma, (n, 1), where all channels change alike."""
        return greyed(self.lit, self.by) if self.alike else self.lit

    def unmixed(self, seen: Array, balance: Balance) -> Array:
        """Quantiles of `source` under a balance, just before saturation mixes the channels; unclamped."""
        colour = np.repeat(seen, 3, axis=1) if self.alike else seen
        plain = replace(self.correction, balance=balance, saturation=1.0)
        through = self._through(colour, plain, clamp=False)
        return greyed(through, self.by) if self.alike else through

    def few(self) -> "Subject":
        """The same shot with so few pixels that a fit may run them all."""
        return with_(self, lit=self.lit[:: -(-len(self.lit) // FEW)])

    def _through(self, values: Array, correction: Correction, clamp: bool) -> Array:
        rest = replace(correction, light=Light(), mattes=())
        return run(order.steps(rest, Encoding(self.encoding.work, self.encoding.work), clamp), values)


def subject(pixels: Pixels, correction: Correction, encoding: Encoding, depth: Depth, alike: bool) -> Subject:
    """A shot made ready for fits.

    Args:
        pixels: (height, width, 1 or 3) in file codes of `depth`.

    Raises:
        PoiseError: the encoding names an unknown transfer function or primaries.
    """
    small = sampled(pixels)
    full = full_range(np.repeat(small, 3, axis=-1) if pixels.shape[-1] == 1 else small, encoding, depth)
    lit = run(order.steps(Correction(light=correction.light), encoding, clamp=False), full)
    by = weights(encoding.work_primaries)
    return Subject(lit[np.isfinite(lit).all(axis=1)], correction, encoding, not depth.is_float, by, alike)


def moved(balance: Balance, gain: Array, lift: Array, bend: Array) -> Balance:
    """A balance behind gain * v + lift, its power times `bend`; each (3,) or (1,) for all channels, held to limits.

    Example:
        >>> moved(Balance(slope=(2, 2, 2)), np.array([0.5]), np.array([0.1]), np.array([1.0])).offset
        (0.2, 0.2, 0.2)
    """
    slope, offset = np.array(balance.slope), np.array(balance.offset)

    def held(values: Array, control: c.Control) -> tuple[float, float, float]:
        red, green, blue = (round(float(v), 12) for v in np.clip(values, control.low, control.high))
        return red, green, blue

    return Balance(
        held(slope * gain, c.SLOPE),
        held(offset + slope * lift, c.OFFSET),
        held(np.array(balance.power) * bend, c.POWER),
    )


def strained(before: Balance, after: Balance) -> bool:
    """Whether a fit had to go to the end of what it may do."""
    slope, power = np.array(before.slope), np.array(before.power)
    gain = np.log((np.array(after.slope) + 1e-12) / (slope + 1e-12)) / np.log(MOST_GAIN)
    bend = np.log(np.array(after.power) / power) / np.log(MOST_POWER)
    lift = np.abs(np.array(after.offset) - before.offset)
    return bool(
        max(np.abs(gain).max(), np.abs(bend).max()) > 0.999 or np.any(lift > 0.999 * MOST_OFFSET * slope + 1e-9)
    )


def fit_shape(shot: Subject, seen: Array, goal: Array, kept: npt.NDArray[np.bool_]) -> Balance:
    """Slope, offset and power under which a shot's quantiles just before saturation lie nearest to a goal.

    Args:
        seen: of the shot's `source`, (STEPS, 3), or (STEPS, 1) where all channels change alike.
        goal, kept: where they should come to lie, and which of them count; of the same shape.
    """
    from scipy.optimize import least_squares

    n = seen.shape[1]
    told = np.tile(kept.mean(axis=0) >= LEAST_TOLD, 3)

    def balance(x: Array) -> Balance:
        x = x * told
        return moved(shot.correction.balance, np.exp(x[:n]), x[n : 2 * n], np.exp(x[2 * n :]))

    def miss(x: Array) -> Array:
        return shot.unmixed(seen, balance(x)) - goal

    def slopes(x: Array) -> Array:
        # no channel reaches into another, so one step tells of all of them at once
        here, rise = miss(x), np.zeros((*goal.shape, 3 * n))
        for kind in range(3):
            step = np.zeros((3, n))
            step[kind] = STEP
            change = (miss(x + step.ravel()) - here) / STEP
            for channel in range(n):
                rise[:, channel, kind * n + channel] = change[:, channel]
        return rise[kept]

    most = np.repeat([np.log(MOST_GAIN), MOST_OFFSET, np.log(MOST_POWER)], n)
    found = least_squares(
        lambda x: miss(x)[kept],
        np.zeros(3 * n),
        slopes,
        bounds=(-most, most),
        loss="soft_l1",
        f_scale=TIGHT,
        x_scale="jac",
        xtol=1e-9,
        gtol=1e-12,
        max_nfev=100,
    )
    return balance(found.x)


def fit_saturation(shot: Subject, reference: Array, fitted: Callable[[float], Correction], within: float) -> float:
    """The saturation under which a shot has the reference's mean chroma too; its own where none within reach has.

    Args:
        reference: (n, 3) work code.
        fitted: the correction that goes with a saturation.
        within: how far off the result may be.
    """
    from scipy.optimize import brentq

    present, wanted = shot.correction.saturation, chroma(reference, shot.by)

    def over(value: float) -> float:
        return chroma(shot.work(fitted(value)), shot.by) - wanted

    if over(present) < 0:
        low, high = present, min(present * MOST_SATURATION, c.SATURATION.high)
    else:
        low, high = max(present / MOST_SATURATION, LEAST_SATURATION), present
    if over(low) >= 0 or over(high) <= 0:
        return present
    return float(brentq(over, low, high, xtol=within))


def fit_ends(shot: Subject, reference: Array, range_by: float, neutral_by: float) -> Balance:
    """A balance that matches luma's black and white and the estimated neutral alone: gains, and one lift for all.

    Args:
        reference: (n, 1 or 3) work code.
        range_by, neutral_by: how much of the way black and white go, and the neutral, 0..1.
    """
    from scipy.optimize import least_squares

    def ends(work: Array) -> Array:
        black, white = np.percentile(greyed(work, shot.by), ENDS)
        if shot.alike:
            return np.array([black, white])
        red, green, blue = np.log(np.maximum(shades_of_gray(work), 1e-3))
        return np.array([black, white, red - green, blue - green])

    few = shot.few()
    now = ends(few.work(shot.correction))
    goal = now + np.array([range_by] * 2 + [neutral_by] * (len(now) - 2)) * (ends(reference) - now)
    n = 1 if shot.alike else 3

    def balance(x: Array) -> Balance:
        return moved(shot.correction.balance, np.exp(x[:n]), x[n:], np.ones(1))

    def miss(x: Array) -> Array:
        return ends(few.work(replace(shot.correction, balance=balance(x)))) - goal

    most = np.array([np.log(MOST_GAIN)] * n + [MOST_OFFSET])
    return balance(least_squares(miss, np.zeros(n + 1), bounds=(-most, most), x_scale="jac", max_nfev=60).x)
