"""A correction brought within slope, offset, power and saturation, so that a CDL holds it exactly."""

import numpy as np
from msgspec.structs import replace

from poise.chain import balance, matte, order
from poise.correction import controls as c
from poise.correction.model import NEUTRAL, Balance, Correction, Encoding, Levels
from poise.errors import PoiseError
from poise.frames.frame import Depth, Pixels
from poise.frames.proxy import proxy
from poise.scopes.clipping import count_clipped
from poise.solve.levels import MOST_LOST
from poise.solve.ten_numbers import nearest
from poise.solve.working_code import Array, full_range, run

GUARDS = (0.0, 1.0, 3.0, 10.0, 30.0)
"""How much what goes beyond an end counts in a fit; the first under which no more is crushed or clipped."""
SHRINKS = (0.005, 0.01, 0.02, 0.04, 0.08, 0.16, 0.32, 0.64)
"""Shares of the way to middle grey that the last of these is drawn in by where it still would; the first that helps."""


def as_cdl(pixels: Pixels, correction: Correction, encoding: Encoding, depth: Depth) -> tuple[Correction, str]:
    """The correction as balance and saturation alone, and a sentence that says how far off that is; "" if it is exact.

    Balance, levels and saturation fold exactly. What else there is becomes the nearest slope, offset, power and
    saturation on the picture's own pixels; no more is crushed or clipped than the correction itself or 2 % would.

    Args:
        pixels: (height, width, 1 or 3) in file codes of `depth`.

    Raises:
        PoiseError: no CDL holds the way from source to delivery, or mattes.

    Example:
        as_cdl(frame.colour, Correction(levels=Levels(black=0.1)), CODED, frame.depth)[0].balance.slope
    """
    if encoding.converts or encoding.delivery != encoding.work:
        work = f" by way of {encoding.work}" if encoding.delivery != encoding.work else ""
        raise PoiseError(
            f"no ten numbers hold the way from {encoding.source} to {encoding.delivery}{work}: do without --as cdl"
        )
    if matte.active(correction.mattes):
        raise PoiseError("no ten numbers hold its mattes: switch them off, or do without --as cdl")
    slope, offset = balance.affine(correction.balance, correction.levels)
    plain = replace(correction, balance=Balance(), levels=Levels(), saturation=1.0, mattes=())
    if plain == NEUTRAL and _within(slope, c.SLOPE) and _within(offset, c.OFFSET):
        folded = Balance(_triple(slope), _triple(offset), correction.balance.power)
        return Correction(balance=folded, saturation=correction.saturation), ""
    grey = pixels.shape[-1] == 1
    full = full_range(np.repeat(proxy(pixels, 480, 270), 3 if grey else 1, axis=-1), encoding, depth)
    clamp = not depth.is_float
    x, y = full.reshape(-1, 3), run(order.steps(correction, encoding, clamp), full).reshape(-1, 3)
    whole = np.isfinite(x).all(axis=1) & np.isfinite(y).all(axis=1)
    if not whole.any():
        return NEUTRAL, "no valid pixels: left alone"
    x, y = (values[whole, : 1 if grey else 3] for values in (x, y))
    most = max(MOST_LOST, _lost(correction, encoding, full)) if clamp else 1.0
    found, drawn = NEUTRAL, ""
    for guard in GUARDS:
        found = nearest(x, y, clamp, guard=guard)
        if _lost(found, encoding, full) <= most:
            break
    else:
        for share in SHRINKS:
            less = _drawn_in(found, share)
            if _lost(less, encoding, full) <= most:
                break
        found, drawn = less, f", drawn in by {share:.1%} so that no more is crushed or clipped"
    made = run(order.steps(found, encoding, clamp), full).reshape(-1, 3)[whole, : y.shape[1]]
    off = 100 * np.abs(made - y)
    told = f"off the full correction by {off.mean():.2f} % of signal on average, {off.max():.1f} % at worst"
    return found, f"as slope, offset, power and saturation alone{drawn}: {told}"


def _within(values: Array, control: c.Control) -> bool:
    return bool(np.all((control.low <= values) & (values <= control.high)))


def _triple(values: Array) -> tuple[float, float, float]:
    red, green, blue = (float(value) for value in values)
    return red, green, blue


def _drawn_in(correction: Correction, share: float) -> Correction:
    """What comes out moved towards middle grey before power, by a share of the way."""
    made = correction.balance
    slope, offset = (np.array(values) * (1 - share) for values in (made.slope, made.offset))
    return replace(correction, balance=Balance(_triple(slope), _triple(offset + share / 2), made.power))


def _lost(correction: Correction, encoding: Encoding, full: Array) -> float:
    """The share of pixels that a correction takes to the end where they are most, beside the delivery without one."""
    made = run(order.steps(correction, encoding, clamp=False), full)
    return max(count_clipped(full, made, (0, 1), (0, 1))) / full[..., 0].size
