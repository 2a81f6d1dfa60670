"""Areas in cells, and the names of the instruments."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

Instrument = Literal["waveform", "parade", "vectorscope", "histogram", "picture"]
INSTRUMENTS: tuple[Instrument, ...] = ("waveform", "parade", "vectorscope", "histogram", "picture")
"""In the order of their keys."""
ALONE: Instrument = "parade"
"""The instrument shown if only one fits: it says most about balance."""

GAP = 1
"""The last column of list, readings and instruments stays blank, which separates them although their areas touch."""
LEAST_SCOPE = 8
"""The least useful rows of a scope."""
WIDE = 76
"""The least columns for instruments side by side."""


@dataclass(frozen=True)
class Area:
    """The area of a pane, in cells."""

    x: int
    y: int
    width: int
    height: int


def over(name: str, middle: Area, lower: int) -> dict[str, Area]:
    """A pane as wide as the middle, with the parade and the picture below it in a number of rows."""
    at, left = middle.height - lower, (middle.width + 1) // 2
    return {
        name: Area(middle.x, 0, middle.width, at),
        "parade": Area(middle.x, at, left, lower),
        "picture": Area(middle.x + left, at, middle.width - left, lower),
    }


Middle = Callable[[Area, Instrument | None], dict[str, Area]]
"""Panes of the middle by name; one instrument alone if it is named."""
