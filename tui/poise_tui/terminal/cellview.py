"""A widget that shows a raster and sends only the cells that changed since it was last sent.

The compositor of textual renders a widget's whole region whenever the widget is refreshed, as spans of styled text.
Here each line is a strip that remembers what the terminal shows in its place, and answers with cursor steps over
everything that is the same. `Strip._segments` is a private name of textual, whose tested range is pinned; a strip that
is asked for its segments, divided or cropped is drawn in full the next time, so whatever else textual does with it
stays right.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
from rich.console import Console
from rich.segment import Segment
from textual.geometry import NULL_REGION, Region, Size
from textual.message import Message
from textual.screen import Screen
from textual.strip import Strip
from textual.widget import Widget

from poise_tui.draw.pens import DEFAULT
from poise_tui.draw.raster import Raster, jumps, sequences
from poise_tui.draw.segments import segments


@dataclass
class Sent:
    """What the terminal shows in a widget's place: a raster, and which of its rows are known to be on screen."""

    raster: Raster
    known: npt.NDArray[np.bool_]
    characters: int = 0


class Update:
    """A raster being sent, and its difference from the one sent before."""

    def __init__(self, raster: Raster, sent: Sent) -> None:
        self.raster, self.sent = raster, sent
        self._texts: list[str] | None = None
        self._changed: npt.NDArray[np.bool_] | None = None

    @property
    def changed(self) -> npt.NDArray[np.bool_]:
        """(rows, columns) the cells to send, as of the first call."""
        if self._changed is None:
            self._changed = self.raster.differs(self.sent.raster) | ~self.sent.known[:, None]
        return self._changed

    @property
    def rows(self) -> list[int]:
        """The rows in which anything has to be sent."""
        rows: list[int] = np.flatnonzero(self.changed.any(axis=1)).tolist()
        return rows

    def text(self, row: int) -> str:
        """The text to send for a row, which then counts as sent."""
        if self._texts is None:
            self._texts = sequences(self.raster, self.changed)
        return self._count(self._texts[row], [row])

    def jumps(self, x: int, y: int) -> str:
        """The text to send for all rows of a view at a place on the screen; they then count as sent."""
        return self._count(jumps(self.raster, self.changed, x, y), self.rows)

    def _count(self, text: str, rows: list[int]) -> str:
        sent = self.sent
        for name in ("glyphs", "fore", "back", "attributes"):
            getattr(sent.raster, name)[rows] = getattr(self.raster, name)[rows]
        sent.known[rows] = True
        sent.characters += len(text)
        return text


class CellStrip(Strip):
    """One line of a raster; its text is made when it is sent, from what was sent before."""

    __slots__ = ("_lazy", "_row", "_update")

    def __init__(self, update: Update, row: int) -> None:
        # The base class makes nine caches, which cost more than everything else and are hardly ever used.
        self._update, self._row, self._cell_length = update, row, update.raster.shape[1]
        self._lazy: list[Segment] | None = None

    def __getattr__(self, name: str) -> Any:
        """The caches of the base class, once one of them is needed."""
        if name not in Strip.__slots__:
            raise AttributeError(name)
        super().__init__((), self._update.raster.shape[1])
        return object.__getattribute__(self, name)

    @property
    def _segments(self) -> list[Segment]:
        """The line as ordinary segments, for overlays, screenshots and other uses."""
        self._update.sent.known[self._row] = False
        if self._lazy is None:
            self._lazy = segments(self._update.raster, self._row)
        return self._lazy

    @_segments.setter
    def _segments(self, value: list[Segment]) -> None:
        """The base class sets an empty list."""

    def apply_filter(self, *_: object) -> "CellStrip":
        """Applies no filter: filters reduce colours, which the palette has done already."""
        return self

    def divide(self, cuts: Iterable[int]) -> Sequence[Strip]:
        """The strip itself, unless it is really cut."""
        places = list(cuts)
        return [self] if places == [self._cell_length] else super().divide(places)

    def render(self, console: Console) -> str:
        """The text to send, which is only cursor steps where nothing changed."""
        return self._update.text(self._row)


class CellView(Widget, inherit_bindings=False):
    """Shows a raster, cut or filled to its own size."""

    class Fitted(Message):
        """Posted when a view gets another size, which may change its content."""

    DEFAULT_CSS = """
    CellView { width: 1fr; height: 1fr; background: transparent; }
    """

    def __init__(self, name: str) -> None:
        super().__init__(id=name)
        self.can_focus = False
        self._shown: Raster | None = None
        self._sent = Sent(Raster.blank(0, 0), np.zeros(0, bool))
        self._ground = DEFAULT
        self._last_place = NULL_REGION
        self.stale = False
        """Whether something was painted since the last `send`."""

    def on_resize(self) -> None:
        self.post_message(self.Fitted())

    @property
    def place(self) -> Region:
        """The view's region in the last layout; empty if it has none.

        `Widget.region` would arrange everything again to find out, and make the compositor believe that the next layout
        has been drawn already.
        """
        region, clip = self.screen._compositor.visible_widgets.get(self, (NULL_REGION, NULL_REGION))
        return region if clip.contains_region(region) else NULL_REGION

    @property
    def size(self) -> Size:
        return self.place.size

    def paint(self, raster: Raster, ground: int = DEFAULT) -> None:
        """Shows a raster from the next `send` on; one that looks the same is not sent again."""
        self.stale = self.stale or raster is not self._shown or ground != self._ground
        self._shown, self._ground = raster, ground

    @property
    def sent(self) -> int:
        """Characters sent so far."""
        return self._sent.characters

    def take(self) -> str:
        """The text to send for the rows painted since the last call, with cursor movements; they then count as sent."""
        self.stale = False
        return Update(self._whole(), self._current()).jumps(*self.place.offset)

    def displayed(self, whole: bool) -> None:
        """Forgets what the terminal shows if an update sends everything, or gives the view a place that it had not.

        Another view may have had that place: textual usually repaints the whole screen after a change of layout, but if
        it arranges first, it repaints only in part.
        """
        if whole or self.place != self._last_place:
            self._sent.known[:] = False
        self._last_place = self.place

    def render_lines(self, crop: Region) -> list[Strip]:
        """One strip a line; only whole lines can skip what did not change."""
        columns, rows = self.size
        update = Update(self._whole(), self._current())
        strips: list[Strip] = [CellStrip(update, row) for row in range(rows)]
        if crop == Region(0, 0, columns, rows):
            return strips
        return [strip.crop(crop.x, crop.right) for strip in strips[crop.y : crop.bottom]]

    def _whole(self) -> Raster:
        columns, rows = self.size
        return (self._shown or Raster.blank(0, 0)).fitted(rows, columns, self._ground)

    def _current(self) -> Sent:
        """What was sent; after a change of size, nothing is known."""
        columns, rows = self.size
        if self._sent.raster.shape != (rows, columns):
            self._sent = Sent(Raster.blank(rows, columns), np.zeros(rows, bool), self._sent.characters)
        return self._sent


def send(screen: Screen[Any], views: Iterable["CellView"]) -> None:
    """Sends what was painted on views of a screen, all in one frame and at once.

    A refresh of each would reach the screen in separate messages; the compositor would send some of them a frame later
    than the others, and take as long as everything else. Views never overlap, and while another screen covers this
    one only what textual asks for is sent.
    """
    app = screen.app
    driver = app._driver
    covered = app.screen is not screen  # `is_current` is true below another screen as well
    if covered or screen._layout_required or app._batch_count or driver is None:
        return  # what was painted is drawn with the layout that follows
    text = "".join(view.take() for view in views if view.stale)
    if text:
        x, y = (max(place, 0) for place in app.cursor_position)  # a prompt without a place puts it outside
        app._begin_update()
        driver.write(f"{text}\x1b[{y + 1};{x + 1}H")
        app._end_update()
