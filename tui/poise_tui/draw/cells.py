"""Cells: a block of characters and, for each, the ink it is written in."""

import unicodedata
from dataclasses import dataclass
from enum import IntEnum
from typing import Any

import numpy as np
import numpy.typing as npt
from rich.cells import get_character_cell_size

from poise.scopes.density import density

STEPS = 4
"""Brightness steps of a trace: a few are enough to tell thin from thick, and cheap to send."""
CONTINUED = "\0"
"""The second cell of a character that is two cells wide; "<U1" stores it as the empty string."""


class Ink(IntEnum):
    """What a character means; traces come in STEPS steps, 0 the faintest."""

    NONE = 0
    GRATICULE = 1
    MARK = 2
    SKIN = 3
    TEXT = 4
    FAINT = 5
    TITLE = 6
    KEY = 7
    CHOSEN = 8
    WARNING = 9
    LUMA = 10
    RED = 11
    GREEN = 12
    BLUE = 13
    GHOST = 14
    ENDS = 15


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

    @classmethod
    def blank(cls, rows: int, columns: int) -> "Cells":
        """A block of spaces."""
        shape = (max(rows, 0), max(columns, 0))
        return cls(np.full(shape, " ", "<U1"), np.zeros(shape, np.uint8), np.full(shape, STEPS - 1, np.uint8))

    @property
    def shape(self) -> tuple[int, int]:
        rows, columns = self.glyphs.shape
        return int(rows), int(columns)

    def lines(self) -> list[str]:
        """The characters alone, one string a row."""
        return ["".join(row) for row in self.glyphs.tolist()]

    def put(self, row: int, column: int, glyph: str, ink: Ink) -> None:
        """Writes one character, replacing the present one."""
        self.glyphs[row, column], self.inks[row, column] = glyph, ink

    def under(self, row: int, column: int, glyph: str, ink: Ink) -> None:
        """Writes one character unless there is a trace."""
        if self.inks[row, column] < Ink.LUMA:
            self.put(row, column, glyph, ink)

    def write(self, row: int, column: int, text: str, ink: Ink, width: int | None = None) -> int:
        """Writes a line of text, cut at `width` cells or at the edge; returns the column after it.

        A wide character takes two cells, one without width is left out, and an unprintable one becomes `?`.
        """
        rows, columns = self.shape
        end = columns if width is None else min(columns, column + width)
        if not 0 <= row < rows or column < 0:
            return column
        if text.isascii() and text.isprintable():
            after = min(column + len(text), max(end, column))
            self.glyphs[row, column:after] = list(text[: after - column])
            self.inks[row, column:after] = ink
            return after
        for glyph in unicodedata.normalize("NFC", text):
            if not glyph.isprintable():
                glyph = "?"
            size = get_character_cell_size(glyph)
            if column + size > end:
                break
            if size:
                self.put(row, column, glyph, ink)
            if size == 2:
                self.put(row, column + 1, CONTINUED, ink)
            column += size
        return column

    def paste(self, row: int, column: int, other: "Cells") -> None:
        """Pastes another block over this one, cut at the edges."""
        rows, columns = self.shape
        height, width = min(other.shape[0], rows - row), min(other.shape[1], columns - column)
        if height <= 0 or width <= 0:
            return
        for name in ("glyphs", "inks", "steps"):
            getattr(self, name)[row : row + height, column : column + width] = getattr(other, name)[:height, :width]


def brightness(counts: npt.NDArray[Any]) -> npt.NDArray[np.uint8]:
    """Counts as steps of a trace.

    Example:
        >>> brightness(np.array([0, 1, 6, 50])).tolist()
        [0, 0, 1, 3]
    """
    return density(counts, STEPS)


Line = list[tuple[str, Ink]]
"""One line as pieces of text, each with its ink."""
