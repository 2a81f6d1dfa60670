"""Neutral pick: makes a patch grey, by the light stage or by the balance of its zone."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt
from msgspec.structs import replace

from poise.chain.light import to_light
from poise.colour.adaptation import light_matrix
from poise.correction.model import Correction, Encoding
from poise.correction.nudges import Zone
from poise.errors import PoiseError
from poise.frames.frame import Depth, Pixels
from poise.solve.illuminant import angle
from poise.solve.neutral import BEYOND, MOST_MAGENTA, undo
from poise.solve.working_code import full_range, run
from poise.solve.zone import level_zone, patch_mean, zone_of

Array = npt.NDArray[np.float64]

MOST_LOST = 0.05
"""The share of a patch's pixels that may be black or clipped in any one channel."""
MOST_LEFT = 20.0
"""Degrees off neutral that slope may remove after warmth and magenta; CIE illuminant A on a D65 picture leaves 15."""
MOST_APART = 0.25
"""The largest difference between the channels of a patch, in work code, that balance levels (common practice)."""
ALREADY = "the patch is neutral already: left alone"
REACHED = 0.05
"""Degrees off neutral, in light, below which a patch counts as grey."""


@dataclass(frozen=True)
class Picked:
    """A correction under which a patch is grey.

    Attributes:
        warmth, magenta: what was added to those of the correction before, in mired and CC.
        note: one sentence that describes the change.
    """

    correction: Correction
    warmth: float
    magenta: float
    note: str


def pick(
    patch: Pixels,
    correction: Correction,
    encoding: Encoding,
    depth: Depth,
    how: Literal["light", "zone"] = "light",
) -> Picked:
    """Changes a correction so that a patch becomes grey; a patch that is grey already is left alone.

    By light: the warmth and magenta that make the mean of the patch neutral in linear light; slope removes what is
    beyond their limits, with black held. By zone: a balance nudge of each channel that brings the means of R, G and B
    to the luma of the patch. The zone depends on that luma in work code: below 1/3 shadows, above 2/3 highlights, else
    midtones (common practice, no source). Mattes are ignored.

    Args:
        patch: (height, width, 3) in file codes of `depth`.

    Raises:
        PoiseError: the picture is grey; or the patch is black, clipped, not finite, too coloured to be a grey, or
            beyond what the zone can level.

    Example:
        pick(frame.colour[200:216, 300:316], Correction(), CODED, frame.depth).note
    """
    if patch.shape[-1] != 3:
        raise PoiseError("a grey picture has no balance: there is nothing to pick")
    full = _valid(patch, correction, encoding, depth)
    if how == "zone":
        return _by_zone(full, correction, encoding, clamp=not depth.is_float)
    return _by_light(full, correction, encoding, clamp=not depth.is_float)


def _valid(patch: Pixels, correction: Correction, encoding: Encoding, depth: Depth) -> Array:
    """Full-range code of the patch's finite pixels, (n, 3)."""
    pixels = patch.reshape(-1, 3)
    pixels = pixels[np.isfinite(pixels).all(axis=1)]
    if not len(pixels):
        raise PoiseError("no valid pixels in the patch: pick another place")
    full = full_range(pixels, encoding, depth)
    if not depth.is_float and (pixels >= depth.maximum).any(axis=1).mean() > MOST_LOST:
        raise PoiseError("the patch is clipped, so its colour is lost: pick a darker grey")
    light = run(to_light(correction.light, encoding), full)
    if (light <= 0).any(axis=1).mean() > MOST_LOST or light.mean(axis=0).min() <= 0:
        raise PoiseError("the patch is black, so it has no colour: pick a lighter grey")
    return full


def _by_light(full: Array, correction: Correction, encoding: Encoding, clamp: bool) -> Picked:
    was = correction.light
    grey = run(to_light(was, encoding), full).mean(axis=0)
    grey = grey / grey[1]
    warmth, magenta = (round(value, 2) for value in undo(grey, encoding.primaries))
    if abs(magenta) > MOST_MAGENTA:
        raise PoiseError(
            f"too coloured to be a grey: it would take magenta {magenta:+.0f} CC, and light is at most "
            f"{MOST_MAGENTA:.0f} off; pick another place"
        )
    left = _off(grey, warmth, magenta, encoding)
    if left > MOST_LEFT:
        raise PoiseError(
            f"too coloured to be a grey: still {left:.0f} degrees off neutral at the limit of warmth, at most "
            f"{MOST_LEFT:.0f}; pick another place"
        )
    before = _off(grey, was.warmth, was.magenta, encoding)
    note = f"patch {before:.1f} degrees off neutral"
    changed = correction
    if before > REACHED:
        changed = replace(correction, light=replace(was, warmth=warmth, magenta=magenta))
        note += f": warmth {warmth - was.warmth:+.1f} mired, magenta {magenta - was.magenta:+.1f} CC"
    if left > REACHED:
        balance = level_zone(full, changed, encoding, clamp, Zone.HIGHLIGHTS)
        if balance != changed.balance:
            changed = replace(changed, balance=balance)
            note += f", and slope for the rest, {BEYOND}"
    if changed == correction:
        return Picked(correction, 0.0, 0.0, ALREADY)
    light = changed.light
    return Picked(changed, round(light.warmth - was.warmth, 2), round(light.magenta - was.magenta, 2), note)


def _by_zone(full: Array, correction: Correction, encoding: Encoding, clamp: bool) -> Picked:
    now = patch_mean(full, correction, encoding, clamp)
    apart = float(np.ptp(now))
    if apart > MOST_APART:
        raise PoiseError(
            f"too coloured to be a grey: its channels lie {apart:.2f} apart, and balance levels at most "
            f"{MOST_APART:g}; pick the light first, or another place"
        )
    balance = level_zone(full, correction, encoding, clamp)
    if balance == correction.balance:
        return Picked(correction, 0.0, 0.0, ALREADY)
    after = replace(correction, balance=balance)
    zone = zone_of(float(patch_mean(full, after, encoding, clamp)[1]))
    note = f"patch levelled in the {zone.value}: its channels lay {apart:.3f} apart"
    return Picked(after, 0.0, 0.0, note)


def _off(grey: Array, warmth: float, magenta: float, encoding: Encoding) -> float:
    """The angle in degrees between neutral and the patch's mean after warmth and magenta."""
    return angle(light_matrix(warmth, magenta, primaries=encoding.primaries) @ grey)
