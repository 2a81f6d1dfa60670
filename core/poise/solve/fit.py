"""Fits balance and saturation to a target, through all the operations that follow them."""

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
"""The limits of a fit, in either direction, relative to the correction as it is."""
MOST_SATURATION = 1.5
LEAST_SATURATION = 0.1
"""Below this, the mixing of channels by saturation can't be inverted reliably."""
TIGHT = 0.005
"""Residuals above this, in work code, count linearly and not squared, so that what only one of the pictures shows has
less influence."""
LEAST_USED = 0.02
"""The least share of a channel's quantiles that must be used; with fewer the channel is not changed."""
FEW = 8192
"""The number of pixels for fits that evaluate every pixel at each step."""
STEP = 1e-7
"""The step of a parameter for a numerical derivative: the square root of float64's precision, about."""
ENDS = (0.5, 99.5)
"""The percentiles of luma that are called black and white."""


@dataclass(frozen=True, eq=False)
class Subject:
    """A shot as input of its balance, and the operations that follow.

    Attributes:
        after_light: (n, 3) work code after the light stage, finite.
        correction: its present correction.
        clamp: hold values to 0..1 where ASC CDL does.
        by: the weights of luma.
        alike: whether all channels change equally, and luma is matched.
    """

    after_light: Array
    correction: Correction
    encoding: Encoding
    clamp: bool
    by: Weights
    alike: bool

    def work(self, correction: Correction) -> Array:
        """Work code, (n, 3), under a correction of the same light, without its mattes."""
        return self._through(self.after_light, correction, self.clamp)

    def levels(self, correction: Correction) -> Array:
        """The quantiles of `work`, (STEPS, 3), or of its luma, (STEPS, 1), where all channels change equally."""
        work = self.work(correction)
        return levels(greyed(work, self.by) if self.alike else work)

    @property
    def source(self) -> Array:
        """The input of balance: (n, 3), or luma, (n, 1), where all channels change equally."""
        return greyed(self.after_light, self.by) if self.alike else self.after_light

    def unmixed(self, seen: Array, balance: Balance) -> Array:
        """Quantiles of `source` under a balance, just before saturation mixes the channels; unclamped."""
        colour = np.repeat(seen, 3, axis=1) if self.alike else seen
        plain = replace(self.correction, balance=balance, saturation=1.0)
        through = self._through(colour, plain, clamp=False)
        return greyed(through, self.by) if self.alike else through

    def few(self) -> "Subject":
        """The same shot with `FEW` pixels at most."""
        return with_(self, after_light=self.after_light[:: -(-len(self.after_light) // FEW)])

    def _through(self, values: Array, correction: Correction, clamp: bool) -> Array:
        rest = replace(correction, light=Light(), mattes=())
        return run(order.steps(rest, Encoding(self.encoding.work, self.encoding.work), clamp), values)


def subject(pixels: Pixels, correction: Correction, encoding: Encoding, depth: Depth, alike: bool) -> Subject:
    """Prepares a shot for fits.

    Args:
        pixels: (height, width, 1 or 3) in file codes of `depth`.

    Raises:
        PoiseError: the encoding names an unknown transfer function or primaries.
    """
    small = sampled(pixels)
    full = full_range(np.repeat(small, 3, axis=-1) if pixels.shape[-1] == 1 else small, encoding, depth)
    after_light = run(order.steps(Correction(light=correction.light), encoding, clamp=False), full)
    by = weights(encoding.work_primaries)
    after_light = after_light[np.isfinite(after_light).all(axis=1)]
    return Subject(after_light, correction, encoding, not depth.is_float, by, alike)


def moved(balance: Balance, gain: Array, lift: Array, bend: Array) -> Balance:
    """A balance preceded by gain * v + lift, with its power multiplied by `bend`, within the limits of the controls.

    Args:
        gain, lift, bend: (3,), or (1,) for all channels.

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
    """Whether a fit reached one of its limits."""
    slope, power = np.array(before.slope), np.array(before.power)
    gain = np.log((np.array(after.slope) + 1e-12) / (slope + 1e-12)) / np.log(MOST_GAIN)
    bend = np.log(np.array(after.power) / power) / np.log(MOST_POWER)
    lift = np.abs(np.array(after.offset) - before.offset)
    return bool(
        max(np.abs(gain).max(), np.abs(bend).max()) > 0.999 or np.any(lift > 0.999 * MOST_OFFSET * slope + 1e-9)
    )


def fit_shape(shot: Subject, seen: Array, goal: Array, kept: npt.NDArray[np.bool_]) -> Balance:
    """The slope, offset and power that bring the quantiles of a shot, just before saturation, nearest to a target.

    Args:
        seen: of the shot's `source`, (STEPS, 3), or (STEPS, 1) where all channels change alike.
        goal, kept: the target quantiles, and which of them count; of the same shape.
    """
    from scipy.optimize import least_squares

    n = seen.shape[1]
    free = np.tile(kept.mean(axis=0) >= LEAST_USED, 3)

    def balance(x: Array) -> Balance:
        x = x * free
        return moved(shot.correction.balance, np.exp(x[:n]), x[n : 2 * n], np.exp(x[2 * n :]))

    def miss(x: Array) -> Array:
        return shot.unmixed(seen, balance(x)) - goal

    def slopes(x: Array) -> Array:
        # channels are independent here, so one step gives the derivatives of all three
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
    """The saturation that gives a shot the reference's mean chroma; its present one where none within the limits does.

    Args:
        reference: (n, 3) work code.
        fitted: gives the correction for a saturation.
        within: the tolerance of the result.
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
    """A balance that matches only black and white of luma and the estimated neutral: a gain each, and a common lift.

    Args:
        reference: (n, 1 or 3) work code.
        range_by, neutral_by: 0..1, the share of the difference that is removed in black and white, and in the neutral.
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
