"""Cells: a block of characters and, for each, the ink it is written in."""

from dataclasses import dataclass
from enum import IntEnum
from typing import Any

import numpy as np
import numpy.typing as npt

STEPS = 4
"""Brightness steps of a trace: a few are enough to tell thin from thick, and cheap to send."""


class Ink(IntEnum):
    """What a character means; traces come in STEPS steps, 0 the faintest."""

    NONE = 0
    GRATICULE = 1
    MARK = 2
    SKIN = 3
    LUMA = 4
    RED = 5
    GREEN = 6
    BLUE = 7


@dataclass(frozen=True)
class Cells:
    """A block of characters.

    Attributes:
        glyphs: (rows, columns) single characters, "<U1".
        inks: (rows, columns) uint8, an `Ink` each.
        steps: (rows, columns) uint8, 0..STEPS - 1; counts for traces only.
    """

    glyphs: npt.NDArray[np.str_]
    inks: npt.NDArray[np.uint8]
    steps: npt.NDArray[np.uint8]

    def lines(self) -> list[str]:
        """The characters alone, one string a row."""
        return ["".join(row) for row in self.glyphs.tolist()]

    def put(self, row: int, column: int, glyph: str, ink: Ink) -> None:
        """Write one character over what is there."""
        self.glyphs[row, column], self.inks[row, column] = glyph, ink

    def under(self, row: int, column: int, glyph: str, ink: Ink) -> None:
        """Write one character where there is no trace."""
        if self.inks[row, column] < Ink.LUMA:
            self.put(row, column, glyph, ink)


def brightness(counts: npt.NDArray[Any], steps: int = STEPS) -> npt.NDArray[np.uint8]:
    """Counts as steps on a logarithmic scale, since a flat sky outnumbers a thin mast a thousandfold.

    Example:
        >>> brightness(np.array([0, 1, 10, 1000])).tolist()
        [0, 0, 1, 3]
    """
    top = np.log1p(float(counts.max(initial=1)))
    scaled = np.log1p(counts.astype(np.float64)) / max(top, np.log(2.0))
    result: npt.NDArray[np.uint8] = np.clip(scaled * steps, 0, steps - 1).astype(np.uint8)
    return result
