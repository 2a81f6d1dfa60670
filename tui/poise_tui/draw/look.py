"""The look of everything in one terminal: its capability and the theme."""

from dataclasses import dataclass

from poise_tui.draw.capability import Capability
from poise_tui.draw.cells import Ink
from poise_tui.draw.palette import Palette, Theme, palette


@dataclass(frozen=True)
class Look:
    """A terminal's capability and a theme."""

    able: Capability
    theme: Theme = "dark"

    @property
    def palette(self) -> Palette:
        return palette(self.theme, self.able.colours)

    @property
    def text(self) -> int:
        """The pen of plain text."""
        return int(self.palette.fore[Ink.TEXT, 0])

    @property
    def ground(self) -> int:
        """The pen behind everything."""
        return self.palette.ground
