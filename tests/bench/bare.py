"""The least that textual can do for a key: an app that draws so many coloured cells anew, and nothing else.

`python bare.py CELLS` fills the screen's first cells; every key gives each another glyph and two other colours.
"""

import sys

from rich.segment import Segment
from rich.style import Style
from textual.app import App, ComposeResult
from textual.events import Key
from textual.strip import Strip
from textual.widget import Widget

WIDE = 120
TURNS = 5


class Cells(Widget):
    """So many cells in rows of `WIDE`."""

    def __init__(self, cells: int) -> None:
        super().__init__()
        rows = -(-cells // WIDE)
        self.styles.height, self.styles.width = rows, WIDE
        self.turn = 0
        self._strips = [
            [self._strip(row, turn, min(WIDE, cells - row * WIDE)) for row in range(rows)] for turn in range(TURNS)
        ]

    @staticmethod
    def _strip(row: int, turn: int, cells: int) -> Strip:
        seeds = [(row * WIDE + cell) * TURNS + turn for cell in range(cells)]
        colours = [f"#{seed * 7919 % 0x1000000:06x}" for seed in range(seeds[0], seeds[-1] + 2)]
        return Strip(
            [Segment("▀▄▌▐"[seed % 4], Style(color=colours[seed - seeds[0]], bgcolor=colours[seed - seeds[0] + 1]))
             for seed in seeds],
            cells,
        )  # fmt: skip

    def render_line(self, y: int) -> Strip:
        return self._strips[self.turn][y]


class Bare(App[None]):
    """Any key draws, and q quits."""

    CSS = "Screen { background: black; }"

    def compose(self) -> ComposeResult:
        yield Cells(int(sys.argv[1]))

    def on_key(self, event: Key) -> None:
        if event.key == "q":
            self.exit()
        cells = self.query_one(Cells)
        cells.turn = (cells.turn + 1) % TURNS
        cells.refresh()


if __name__ == "__main__":
    Bare().run()
