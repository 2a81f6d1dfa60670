"""A raster: a block of cells in final colours, and the shortest text that turns one raster into another on screen."""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from poise_tui.draw.pens import DEFAULT, sgr

BOLD, REVERSE = 1, 2
"""Attributes, one bit each."""
RESET = "\x1b[0m"


@dataclass(frozen=True)
class Raster:
    """Cells ready to send; the arrays are never changed.

    Attributes:
        glyphs: (rows, columns) uint32 code points; 0 in the second cell of a wide character.
        fore, back: (rows, columns) int32 pens.
        attributes: (rows, columns) uint8.
    """

    glyphs: npt.NDArray[np.uint32]
    fore: npt.NDArray[np.int32]
    back: npt.NDArray[np.int32]
    attributes: npt.NDArray[np.uint8]

    @classmethod
    def blank(cls, rows: int, columns: int, ground: int = DEFAULT) -> "Raster":
        """A raster of the background only."""
        shape = (rows, columns)
        return cls(
            np.full(shape, ord(" "), np.uint32),
            np.full(shape, DEFAULT, np.int32),
            np.full(shape, ground, np.int32),
            np.zeros(shape, np.uint8),
        )

    @property
    def shape(self) -> tuple[int, int]:
        rows, columns = self.glyphs.shape
        return int(rows), int(columns)

    def plain_blanks(self) -> "Raster":
        """A raster that looks the same, with one foreground for all blanks, so that they compare as equal."""
        fore = np.where((self.glyphs == ord(" ")) & (self.attributes == 0), np.int32(DEFAULT), self.fore)
        return Raster(self.glyphs, fore.astype(np.int32), self.back, self.attributes)

    def on(self, ground: int, text: int) -> "Raster":
        """The raster with the given pens in place of the terminal's own colours."""
        fore, back = (np.where(own == DEFAULT, pen, own) for own, pen in ((self.fore, text), (self.back, ground)))
        return Raster(self.glyphs, fore, back, self.attributes).plain_blanks()

    def fitted(self, rows: int, columns: int, ground: int = DEFAULT) -> "Raster":
        """The raster cut, or filled with background, at the right and at the bottom."""
        if self.shape == (rows, columns):
            return self
        fitted = Raster.blank(rows, columns, ground)
        fitted.lay(0, 0, self)
        return fitted

    def lay(self, row: int, column: int, other: "Raster") -> None:
        """Pastes another raster over this one, cut at the edges; only while this one is being made."""
        height, width = min(other.shape[0], self.shape[0] - row), min(other.shape[1], self.shape[1] - column)
        if height > 0 and width > 0:
            for name in ("glyphs", "fore", "back", "attributes"):
                getattr(self, name)[row : row + height, column : column + width] = getattr(other, name)[:height, :width]

    def lines(self) -> list[str]:
        """The characters alone, one string a row."""
        return ["".join(chr(code) for code in row if code) for row in self.glyphs.tolist()]

    def differs(self, other: "Raster") -> npt.NDArray[np.bool_]:
        """(rows, columns) True for the cells that must be sent; both halves of a wide character go together."""
        changed: npt.NDArray[np.bool_] = (
            (self.glyphs != other.glyphs)
            | (self.fore != other.fore)
            | (self.back != other.back)
            | (self.attributes != other.attributes)
        )
        second: npt.NDArray[np.bool_] = (self.glyphs == 0) | (other.glyphs == 0)
        if second.any():
            halves = second | np.roll(second, -1, axis=1)
            changed |= halves & changed.any(axis=1, keepdims=True)
        return changed


Rendition = tuple[int, int, int]
"""Fore, back and attribute (SGR, select graphic rendition: ECMA-48, 8.3.117)."""
PLAIN: Rendition = (DEFAULT, DEFAULT, 0)
Cell = tuple[int, int, Rendition, int]
"""Column, glyph, rendition and width of a cell to send."""


def sequences(raster: Raster, changed: npt.NDArray[np.bool_]) -> list[str]:
    """The text to send for each row: the cursor goes from the left edge to the right one, with default colours at both.

    Args:
        changed: (rows, columns) the cells to send; the cursor steps over the others.

    Example:
        >>> sequences(Raster.blank(1, 9), np.zeros((1, 9), bool))
        ['\\x1b[9C']
    """
    lines, columns = [], raster.shape[1]
    for cells in _rows(raster, changed):
        parts: list[str] = []
        at, rendition = _draw(parts, cells, 0, PLAIN)
        if rendition != PLAIN:
            parts.append(RESET)
        if at < columns:
            parts.append(_forward(columns - at))
        lines.append("".join(parts))
    return lines


def jumps(raster: Raster, changed: npt.NDArray[np.bool_], x: int, y: int) -> str:
    """The text that sends cells of a raster whose top left cell is at column x and row y of the screen.

    The cursor jumps to the first changed cell of each row, and colours carry over from row to row; they are the default
    ones at both ends.

    Example:
        >>> jumps(Raster.blank(2, 9), np.arange(18).reshape(2, 9) == 16, 10, 0)
        '\\x1b[2;18H '
    """
    parts: list[str] = []
    rendition = PLAIN
    for row, cells in enumerate(_rows(raster, changed)):
        if cells:
            at = cells[0][0]
            parts.append(f"\x1b[{y + row + 1};{x + at + 1}H")
            _, rendition = _draw(parts, cells, at, rendition)
    if rendition != PLAIN:
        parts.append(RESET)
    return "".join(parts)


def _rows(raster: Raster, changed: npt.NDArray[np.bool_]) -> list[list[Cell]]:
    """The cells to send of each row, from left to right."""
    rows, columns = raster.shape
    glyphs, fores = raster.glyphs[changed].tolist(), raster.fore[changed].tolist()
    backs, attributes = raster.back[changed].tolist(), raster.attributes[changed].tolist()
    places = np.nonzero(changed)[1].tolist()
    wide = np.zeros((rows, columns), bool)
    wide[:, :-1] = raster.glyphs[:, 1:] == 0
    steps = (1 + wide[changed]).tolist()
    renditions = zip(fores, backs, attributes, strict=True)
    cells = list(zip(places, glyphs, renditions, steps, strict=True))
    ends = np.cumsum(changed.sum(axis=1)).tolist()
    return [cells[start:end] for start, end in zip([0, *ends], ends, strict=False)]


def _draw(parts: list[str], cells: Iterable[Cell], at: int, rendition: Rendition) -> tuple[int, Rendition]:
    """Appends the text that draws cells of a row from a column and a rendition on; returns those at the end."""
    for place, glyph, new, step in cells:
        if not glyph:
            continue
        if place > at:
            parts.append(_forward(place - at))
        if new != rendition:
            parts.append(_turn(rendition, new))
            rendition = new
        parts.append(chr(glyph))
        at = place + step
    return at, rendition


def _forward(cells: int) -> str:
    """CUF, cursor right (ECMA-48, 8.3.20)."""
    return "\x1b[C" if cells == 1 else f"\x1b[{cells}C"


@lru_cache(maxsize=65536)
def _turn(old: Rendition, new: Rendition) -> str:
    """The shortest change of fore, back and attribute."""
    (fore, back, attribute), (new_fore, new_back, new_attribute) = old, new
    codes = []
    if new_attribute != attribute:
        fore = back = DEFAULT
        codes = ["0", *(code for bit, code in ((BOLD, "1"), (REVERSE, "7")) if new_attribute & bit)]
    if new_fore != fore:
        codes.append(sgr(new_fore))
    if new_back != back:
        codes.append(sgr(new_back, background=True))
    return f"\x1b[{';'.join(codes)}m"
