"""The ghost: another picture's trace, thin and in its own colour behind a trace, with its edges in front."""

import numpy as np

from poise.scopes.waveform import Counts
from poise_tui.draw import braille, plain
from poise_tui.draw.cells import Cells, Ink

LEAST = 0.005
"""The share of a column's pixels outside its edge: the same percentile as the readings black and white."""
FILL, EDGE = ",", "~"
"""In plain characters."""


def edges(counts: Counts) -> Counts:
    """A grid with 1 at the lower and upper edge of every column of a count grid, and 0 elsewhere.

    Args:
        counts: (rows, columns); LEAST of a column's counts are outside an edge.

    Example:
        >>> edges(np.array([[0, 9], [5, 1], [5, 0], [5, 0]])).tolist()
        [[0, 1], [1, 1], [0, 0], [1, 0]]
    """
    total = counts.sum(axis=0)
    below = counts.cumsum(axis=0)
    found = np.zeros_like(counts)
    least = LEAST * total
    top, bottom = (below > least).argmax(axis=0), (below >= total - least).argmax(axis=0)
    columns = np.flatnonzero(total)
    found[top[columns], columns] = found[bottom[columns], columns] = 1
    return found


def lay_ghost(trace: Cells, counts: Counts, unicode: bool) -> None:
    """Draws a ghost behind a trace of the same size, and its edges over it; where they cross, both keep their dots."""
    draw = braille.braille if unicode else plain.plain
    fill, edge = draw(counts, Ink.GHOST), draw(edges(counts), Ink.GHOST)
    bare, behind, over = trace.inks == Ink.NONE, fill.inks != Ink.NONE, edge.inks != Ink.NONE
    if unicode:
        braille.thinned(fill.glyphs, behind, braille.SPARSE)  # even an even spread of the trace is denser
    else:
        fill.glyphs[behind], edge.glyphs[over] = FILL, EDGE
    laid = bare & behind
    trace.glyphs[laid], trace.inks[laid], trace.steps[laid] = fill.glyphs[laid], Ink.GHOST, 0
    if unicode:
        whole = trace.glyphs.view(np.uint32)
        both = over & (whole >= 0x2800)
        whole[both] |= edge.glyphs.view(np.uint32)[both]
        trace.glyphs[over & ~both] = edge.glyphs[over & ~both]
    else:
        trace.glyphs[over] = edge.glyphs[over]
    trace.inks[over], trace.steps[over] = Ink.GHOST, 3
