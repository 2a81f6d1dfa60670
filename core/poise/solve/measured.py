"""A picture as auto measures it before anything is decided about its levels: its ends, its flare and its light."""

from dataclasses import dataclass

import numpy as np

from poise.chain import light as chain
from poise.colour.transfer import decode, encode
from poise.correction.model import Encoding
from poise.frames.frame import Depth, Pixels
from poise.frames.proxy import proxy
from poise.solve.ends import Ends, ends, noise, squares, whiteness
from poise.solve.floor import Floor, solve_floor
from poise.solve.illuminant import Ceiling, Illuminant, Mask, angle, illuminant
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
        linear: the same in light, flare off.
        noise: (3,) standard deviation, in sRGB code.
        floor: the flare.
        illuminant: the light, as far as this picture tells; None of a grey picture.
    """

    full: Array
    linear: Array
    encoding: Encoding
    depth: Depth
    noise: Array
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
    if grey:
        return Measured(full, decode(encoding.given, full), encoding, depth, width, Floor(), None)
    code = _seen(full, encoding)
    at = ends(code, width)
    clipped = None if depth.is_float else np.asarray((small >= depth.maximum).any(axis=-1))
    plain = decode(encoding.given, full)
    floor = Floor() if _one_colour(plain, clipped, encoding) else solve_floor(at, encoding)
    through = chain.to_light(floor.light, encoding)
    linear = run(through, full)
    ceiling = _ceiling(at, code, encoding, depth, run(through, _source(at.high, encoding)))
    found = illuminant(linear, clipped, encoding.primaries, ceiling)
    return Measured(full, linear, encoding, depth, width, floor, found)


def _ceiling(at: Ends, code: Array, encoding: Encoding, depth: Depth, light: Array) -> Ceiling:
    clipped = np.zeros(3, bool) if depth.is_float else np.asarray(_source(at.high, encoding) >= CLIPPED)
    return Ceiling(light, clipped, whiteness(code, at))


def _one_colour(linear: Array, clipped: Mask | None, encoding: Encoding) -> bool:
    """Whether the picture is all one colour, and that not grey, so that its floor tells of the colour, not of flare."""
    found = illuminant(linear, clipped, encoding.primaries)
    return found.one_colour and angle(found.light) > TINTED


def _seen(full: Array, encoding: Encoding) -> Array:
    """Source code as sRGB code, in which ends are looked for, whatever the source."""
    return full if encoding.given == "sRGB" else encode("sRGB", decode(encoding.given, full))


def _source(code: Array, encoding: Encoding) -> Array:
    """The source code of sRGB code."""
    return code if encoding.given == "sRGB" else encode(encoding.given, decode("sRGB", code))
