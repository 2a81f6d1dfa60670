"""Measures what a matte covers."""

from typing import TYPE_CHECKING

from poise.correction import Correction, Encoding

if TYPE_CHECKING:
    from poise.frames.frame import Depth, Pixels
    from poise.scopes import Coverage


def covered(correction: Correction, index: int, encoding: Encoding, pixels: "Pixels", depth: "Depth") -> "Coverage":
    """Measure what one matte of a correction covers, whether it is on or off, after the mattes before it.

    Args:
        pixels: (height, width, 1 to 4), in codes of `depth`: of a file, or evenly sampled from it.

    Raises:
        IndexError: there is no such matte.
        PoiseError: as `poise.engine.matte_of`.

    Example:
        covered(correction, 0, CODED, frame.pixels, frame.depth).share
    """
    from poise.engine import matte_of
    from poise.scopes import coverage

    found = matte_of(correction, index, encoding, depth).select(pixels)
    return coverage(found.mask, found.keyed)
