"""Levels a patch by balance: nudges of each channel in one zone that bring R, G and B to the patch's luma."""

import numpy as np
import numpy.typing as npt
from msgspec.structs import replace

from poise.chain import order
from poise.colour.luma import luma, weights
from poise.correction.model import Balance, Correction, Encoding, Light
from poise.correction.nudges import Zone, nudge
from poise.errors import PoiseError
from poise.solve.working_code import run

Array = npt.NDArray[np.float64]

LEVEL = 5e-4
"""The difference between channels, in work code, that counts as level: an eighth of an 8-bit code."""
MOST_STEPS = 180
"""Nudges either way: shadows moved by up to 0.9, midtones and highlights by a factor of up to 6."""
HALVINGS = 40


def zone_of(level: float) -> Zone:
    """The zone of a level in work code: below 1/3 shadows, above 2/3 highlights, else midtones.

    Common practice, no source.

    Example:
        >>> zone_of(0.2), zone_of(0.5)
        (<Zone.SHADOWS: 'shadows'>, <Zone.MIDTONES: 'midtones'>)
    """
    if level < 1 / 3:
        return Zone.SHADOWS
    return Zone.HIGHLIGHTS if level > 2 / 3 else Zone.MIDTONES


def patch_mean(full: Array, correction: Correction, encoding: Encoding, clamp: bool) -> Array:
    """The means of R, G and B of a patch, (3,), in work code after the correction without its mattes.

    Args:
        full: (n, 3) full-range source code.
    """
    mean: Array = run(order.steps(replace(correction, mattes=()), encoding, clamp), full).mean(axis=0)
    return mean


def level_zone(
    full: Array, correction: Correction, encoding: Encoding, clamp: bool, zone: Zone | None = None
) -> Balance:
    """Moves a correction's balance so that the means of R, G and B of a patch meet at its present luma.

    Shadows move with white held, highlights with black held, midtones with both held, as by `nudge`.

    Args:
        full: (n, 3) full-range source code.
        clamp: hold values to 0..1 where ASC CDL does; for integer delivery.
        zone: the zone to move; None chooses it by the patch's luma.

    Returns:
        The same object if the patch is level already.

    Raises:
        PoiseError: the correction makes the patch all black or white, or the zone can't level it.

    Example:
        >>> full = np.array([[0.52, 0.50, 0.47]])
        >>> balance = level_zone(full, Correction(), Encoding(), clamp=True)
        >>> balance.slope, patch_mean(full, Correction(balance=balance), Encoding(), clamp=True).round(3).tolist()
        ((1.0, 1.0, 1.0), [0.502, 0.502, 0.502])
    """
    now = patch_mean(full, correction, encoding, clamp)
    target = float(luma(now[0], now[1], now[2], weights(encoding.work_primaries)))
    if target <= 0 or (clamp and target >= 1):
        raise PoiseError(
            f"the correction leaves the patch all {'black' if target <= 0 else 'white'}: pick another place"
        )
    if np.ptp(now) < LEVEL:
        return correction.balance
    zone = zone or zone_of(target)
    after_light = run(order.steps(Correction(light=correction.light), encoding, clamp=False), full)
    # saturation keeps neutrals as they are, so the channels must meet before it mixes them
    rest = replace(correction, light=Light(), saturation=1.0)
    coded = Encoding(encoding.work, encoding.work)

    def moved(steps: Array) -> Balance:
        balance = correction.balance
        for channel in range(3):
            balance = nudge(balance, zone, (channel,), float(steps[channel]))
        return _rounded(balance, correction.balance)

    def reached(steps: Array) -> Array:
        return patch_mean(after_light, replace(rest, balance=moved(steps)), coded, clamp)

    low, high = np.full(3, -float(MOST_STEPS)), np.full(3, float(MOST_STEPS))
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        short = reached(middle) < target
        low, high = np.where(short, middle, low), np.where(short, high, middle)
    steps = (low + high) / 2
    if np.abs(reached(steps) - target).max() > LEVEL:
        raise PoiseError(f"the {zone.value} can't level that patch: it lies too near black or white, or too far off")
    return moved(steps)


def _rounded(balance: Balance, was: Balance) -> Balance:
    """To the fifth decimal, where it changed."""

    def each(new: tuple[float, ...], old: tuple[float, ...]) -> tuple[float, ...]:
        return tuple(o if n == o else round(n, 5) for n, o in zip(new, old, strict=True))

    return replace(
        balance,
        slope=each(balance.slope, was.slope),
        offset=each(balance.offset, was.offset),
        power=each(balance.power, was.power),
    )
