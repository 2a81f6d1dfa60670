"""Corrects frames with alpha: divides colour by alpha, corrects it, and multiplies again as the output stores it."""

from collections.abc import Callable

import numpy as np

from poise.correction.model import NEUTRAL, Correction
from poise.engine.engine import Engine
from poise.frames.frame import Depth, Frame, Pixels
from poise.frames.premultiplied import divided, multiplied

Compile = Callable[[Correction, Depth, Depth], Engine]
"""Compiles a correction from one depth to another, under the frame's encoding."""

ROWS = 256
"""Rows that are divided and multiplied at a time, unless a matte needs the whole picture."""


def corrected(
    frame: Frame, correction: Correction, depth: Depth, premultiplied: bool, compiled: Compile, threads: int = 1
) -> Pixels:
    """The corrected pixels of a frame, a new array of the output's depth.

    Premultiplied halves are corrected as float, so that only the result is rounded. A premultiplied pixel that the
    correction doesn't change keeps its stored value. A pixel without a straight colour (`poise.frames.premultiplied`)
    only changes its encoding and depth; in premultiplied output, a colour of 0 stays 0.

    Args:
        depth: the depth of the output.
        premultiplied: whether the output stores colour multiplied by alpha.
        compiled: compiles a correction under the frame's encoding.
        threads: the number of threads that share the rows.

    Raises:
        PoiseError: as `Engine.apply`.

    Example:
        corrected(frame, correction, Depth.HALF, True, lambda *wanted: compile_engine(wanted[0], LINEAR, *wanted[1:]))
    """
    if not frame.alpha or not (frame.premultiplied or premultiplied) or frame.opaque:
        return compiled(correction, frame.depth, depth).apply(frame.pixels, threads)
    within = Depth.FLOAT if frame.premultiplied and frame.depth is Depth.HALF else frame.depth
    out = Depth.FLOAT if premultiplied and depth is Depth.HALF else depth
    engine = compiled(correction, within, out)
    result = np.empty(frame.pixels.shape, depth.dtype)
    rows = frame.height if engine.keyed else ROWS
    for top in range(0, frame.height, rows):
        part = slice(top, top + rows)
        stored = frame.pixels[part].astype(within.dtype)
        straight, solid = divided(stored, within.maximum) if frame.premultiplied else (stored, stored[..., -1] > 0)
        made = engine.apply(straight, threads)
        changed = frame.depth is not depth or (made != straight).any(axis=-1)
        made = multiplied(made, out.maximum) if premultiplied else made
        if frame.premultiplied and premultiplied:
            kept = solid & np.logical_not(changed)  # `~` of a plain True is -2, which would index rows
            made[kept] = stored[kept]
        if frame.premultiplied and not solid.all():
            _keep(made, stored, ~solid, compiled(NEUTRAL, within, out), premultiplied)
        with np.errstate(over="ignore"):
            result[part] = made
    return result


def _keep(made: Pixels, stored: Pixels, where: Pixels, bare: Engine, premultiplied: bool) -> None:
    """Give pixels without a straight colour their stored colour, in the encoding and depth of the output."""
    glow = stored[where][None]
    kept = bare.apply(glow)[0]
    if premultiplied:
        kept[(glow[0, :, :-1] == 0).all(axis=-1), :-1] = 0
    made[where] = kept
