"""A picture as auto measures it before anything is decided about its levels: its ends, its flare and its light."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from poise.chain import light as chain
from poise.chain.stage import Stage
from poise.colour.transfer import decode, encode
from poise.correction.model import Encoding
from poise.frames.frame import Depth, Pixels
from poise.frames.proxy import proxy
from poise.solve.ends import Ends, darkest, ends, noise, squares, whiteness
from poise.solve.floor import Floor, solve_floor
from poise.solve.illuminant import SIZE, Ceiling, Illuminant, Mask, angle, illuminant, is_varied
from poise.solve.working_code import Array, full_range, run

CLIPPED = 0.998
"""A ceiling from here on is one of the recording."""
TINTED = 5.0
"""Degrees off neutral: what is all one colour and nearer is grey."""


@dataclass(frozen=True)
class Measured:
    """What is known of a picture before its levels.

    Attributes:
        full: (height, width, 3) full-range source code, small.
        linear: the same in light, flare off, smaller still.
        ends: its ends, as sRGB code.
        spoilt: (height, width) pixels that are clipped in some channels but not in all; None of floats.
        floor: the flare.
        illuminant: the light, as far as this picture tells; None of a grey picture.
    """

    full: Array
    linear: Array
    encoding: Encoding
    depth: Depth
    ends: Ends
    spoilt: Mask | None
    floor: Floor
    illuminant: Illuminant | None


def measure(pixels: Pixels, encoding: Encoding, depth: Depth) -> Measured:
    """Measures a picture.

    Args:
        pixels: (height, width, 1 or 3) in file codes of `depth`.

    Raises:
        PoiseError: the encoding names an unknown transfer function or primaries.
    """
    grey = pixels.shape[-1] == 1
    small, some = (np.repeat(one, 3 if grey else 1, axis=-1) for one in (proxy(pixels, 480, 270), squares(pixels)))
    full = full_range(small, encoding, depth)
    width = noise(_seen(full_range(some, encoding, depth), encoding))
    code = _seen(full, encoding)
    at = ends(code, width)
    if grey:
        return Measured(full, decode(encoding.given, proxy(full, *SIZE)), encoding, depth, at, None, Floor(), None)
    high = small >= depth.maximum
    clipped = None if depth.is_float else np.asarray(high.any(axis=-1))
    spoilt = None if clipped is None else clipped & ~np.asarray(high.all(axis=-1))
    part, white, floor, under = proxy(full, *SIZE), whiteness(code, at), Floor(), Floor()
    if not _one_colour(decode(encoding.given, part), clipped, encoding):
        black, gap = darkest(code, at)
        floor = solve_floor(at, black, gap, white, encoding)
        under = solve_floor(at, black, gap, white, encoding, coloured=1.0)  # the light shows better without these
    linear = run(chain.to_light(floor.light, encoding), part)
    shown = chain.to_light(under.light, encoding)
    lit = linear if under.light == floor.light else run(shown, part)
    peak = _source(at.high, encoding)
    over = np.zeros(3, bool) if depth.is_float else np.asarray(peak >= CLIPPED)
    found = illuminant(lit, clipped, encoding.primaries, Ceiling(run(shown, peak), over, white), floor.veil)
    return Measured(full, linear, encoding, depth, at, spoilt, floor, found)


def noise_after(one: Measured, stages: Iterable[Stage]) -> Array:
    """The noise's standard deviation, (3,), near the ceilings, after source code ran through stages."""
    stages, at = list(stages), one.ends
    above, below = (run(stages, _source(at.high - step, one.encoding)) for step in (0, at.noise))
    return np.asarray(np.abs(above - below))


def _one_colour(linear: Array, clipped: Mask | None, encoding: Encoding) -> bool:
    """Whether the picture is all one colour, and that not grey, so that its floor tells of the colour, not of flare."""
    if is_varied(linear, clipped):
        return False
    found = illuminant(linear, clipped, encoding.primaries)
    return found.one_colour and angle(found.light) > TINTED


def _seen(full: Array, encoding: Encoding) -> Array:
    """Source code as sRGB code, in which ends are looked for, whatever the source."""
    return full if encoding.given == "sRGB" else encode("sRGB", decode(encoding.given, full))


def _source(code: Array, encoding: Encoding) -> Array:
    """The source code of sRGB code."""
    return code if encoding.given == "sRGB" else encode(encoding.given, decode("sRGB", code))
