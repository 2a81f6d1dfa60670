"""A widget that shows a raster and sends only the cells that changed since it was last sent.

The compositor of textual renders a widget's whole region whenever the widget is refreshed, as spans of styled text.
Here each line is a strip that remembers what the terminal shows in its place, and answers with cursor steps over
everything that is the same. `Strip._segments` is a private name of textual, whose tested range is pinned; a strip that
is asked for its segments, divided or cropped is drawn in full the next time, so whatever else textual does with it
stays right.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt
from rich.color import Color
from rich.console import Console
from rich.segment import Segment
from rich.style import Style
from textual.geometry import Region
from textual.strip import Strip
from textual.widget import Widget

from poise_tui.draw.pens import DEFAULT, TRUE
from poise_tui.draw.raster import BOLD, REVERSE, Raster, sequence


@dataclass
class Sent:
    """What the terminal shows in a widget's place: a raster, and which of its rows are known to be there."""

    raster: Raster
    known: npt.NDArray[np.bool_]
    characters: int = 0


class CellStrip(Strip):
    """One line of a raster; its text is made when it is sent, from what was sent before."""

    __slots__ = ("_lazy", "_raster", "_row", "_sent")

    def __init__(self, raster: Raster, row: int, sent: Sent) -> None:
        super().__init__((), raster.shape[1])
        self._raster, self._row, self._sent = raster, row, sent
        self._lazy: list[Segment] | None = None

    @property
    def _segments(self) -> list[Segment]:
        """The line as ordinary segments, for overlays, screenshots and whatever else takes it apart."""
        self._sent.known[self._row] = False
        if self._lazy is None:
            self._lazy = _segments(self._raster, self._row)
        return self._lazy

    @_segments.setter
    def _segments(self, value: list[Segment]) -> None:
        """The base class sets an empty list."""

    def apply_filter(self, *_: object) -> "CellStrip":
        """Filters step colours down; the palette has done so already."""
        return self

    def render(self, console: Console) -> str:
        """What to send, which is nothing but cursor steps where nothing changed."""
        sent, row = self._sent, self._row
        changed = None
        if sent.known[row]:
            changed = _row(self._raster, row).differs(_row(sent.raster, row))[0]
        for name in ("glyphs", "fore", "back", "attributes"):
            getattr(sent.raster, name)[row] = getattr(self._raster, name)[row]
        sent.known[row] = True
        text = sequence(self._raster, row, changed)
        sent.characters += len(text)
        return text


class CellView(Widget, inherit_bindings=False):
    """Shows a raster, cut or filled up to its own size."""

    DEFAULT_CSS = """
    CellView { width: 1fr; height: 1fr; background: transparent; }
    """

    def __init__(self, name: str) -> None:
        super().__init__(id=name)
        self.can_focus = False
        self._shown: Raster | None = None
        self._fitted = Raster.blank(0, 0)
        self._sent = Sent(Raster.blank(0, 0), np.zeros(0, bool))
        self._ground = DEFAULT

    def paint(self, raster: Raster, ground: int = DEFAULT) -> None:
        """Show a raster from now on; nothing is sent if it looks the same."""
        before = self._shown
        self._shown, self._ground = raster, ground
        if before is None or before.shape != raster.shape or raster.differs(before).any():
            self.refresh()

    @property
    def sent(self) -> int:
        """Characters sent so far."""
        return self._sent.characters

    def forget(self) -> None:
        """Take nothing for granted about what the terminal shows."""
        self._sent.known[:] = False

    def render_lines(self, crop: Region) -> list[Strip]:
        """One strip a line; only whole lines can skip what did not change."""
        columns, rows = self.size
        raster = (self._shown or Raster.blank(0, 0)).fitted(rows, columns, self._ground)
        if self._sent.raster.shape != raster.shape:
            self._sent = Sent(Raster.blank(rows, columns), np.zeros(rows, bool), self._sent.characters)
        strips: list[Strip] = [CellStrip(raster, row, self._sent) for row in range(rows)]
        if crop == Region(0, 0, columns, rows):
            return strips
        return [strip.crop(crop.x, crop.right) for strip in strips[crop.y : crop.bottom]]


def _row(raster: Raster, row: int) -> Raster:
    part = slice(row, row + 1)
    return Raster(raster.glyphs[part], raster.fore[part], raster.back[part], raster.attributes[part])


def _segments(raster: Raster, row: int) -> list[Segment]:
    segments: list[Segment] = []
    looks = zip(raster.fore[row].tolist(), raster.back[row].tolist(), raster.attributes[row].tolist(), strict=True)
    text, last = "", None
    for code, look in zip(raster.glyphs[row].tolist(), looks, strict=True):
        if look != last and last is not None:
            segments.append(Segment(text, style(*last)))
            text = ""
        last = look
        text += chr(code) if code else ""
    return [*segments, Segment(text, style(*last))] if last is not None else segments


@lru_cache(maxsize=65536)
def style(fore: int, back: int, attribute: int) -> Style:
    """Pens as a style; never None, which textual's filters can't take."""
    return Style(
        color=_colour(fore), bgcolor=_colour(back), bold=bool(attribute & BOLD), reverse=bool(attribute & REVERSE)
    )


def _colour(pen: int) -> Color | None:
    if pen == DEFAULT:
        return None
    return Color.from_rgb(pen >> 16 & 255, pen >> 8 & 255, pen & 255) if pen >= TRUE else Color.from_ansi(pen)
