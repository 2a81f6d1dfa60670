"""Plain: one count or level per cell in ASCII, by a ramp of ever denser characters."""

from typing import Any

import numpy as np
import numpy.typing as npt

from poise_tui.draw.cells import Cells, Ink, brightness

DOWN, ACROSS = 1, 1
"""Grid rows and columns that one cell shows."""

TRACE = ".:*#"
PICTURE = " .:-=+*#%@"


def plain(counts: npt.NDArray[Any], ink: Ink = Ink.LUMA, solid: bool = False) -> Cells:
    """Draws a count grid, (rows, columns), one character per count; a count of 0 is a blank.

    Args:
        solid: the densest character for every count.

    Example:
        >>> plain(np.array([[0, 1, 12, 40, 160]])).lines()
        [' .:*#']
    """
    steps = brightness(counts)
    lit = counts > 0
    glyphs = np.where(lit, TRACE[-1] if solid else np.array(list(TRACE))[steps], " ")
    return Cells(glyphs, np.where(lit, int(ink), int(Ink.NONE)).astype(np.uint8), steps)


def tones(levels: npt.NDArray[Any]) -> list[str]:
    """A picture as text: levels (rows, columns) 0..1, dark to light from blank to @.

    Example:
        >>> tones(np.array([[0.0, 0.5, 1.0]]))
        [' +@']
    """
    places = np.clip(np.nan_to_num(levels) * len(PICTURE), 0, len(PICTURE) - 1).astype(np.int64)
    return ["".join(row) for row in np.array(list(PICTURE))[places].tolist()]
