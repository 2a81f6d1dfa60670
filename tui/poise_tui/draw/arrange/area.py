"""Places in cells, and what the instruments are called."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

Instrument = Literal["waveform", "parade", "vectorscope", "histogram", "picture"]
INSTRUMENTS: tuple[Instrument, ...] = ("waveform", "parade", "vectorscope", "histogram", "picture")
"""In the order of their keys."""
ALONE: Instrument = "parade"
"""What stands alone where there is room for one: it tells most about balance."""

GAP = 1
"""The last column of list, readings and instruments stays blank: they stand apart although their areas touch."""
LEAST_SCOPE = 8
"""Rows of a scope below which its trace says little."""
WIDE = 76
"""Columns from which instruments stand side by side."""


@dataclass(frozen=True)
class Area:
    """A pane's place in cells."""

    x: int
    y: int
    width: int
    height: int


def over(name: str, middle: Area, lower: int) -> dict[str, Area]:
    """A pane as wide as the middle, and below it, in so many rows, the parade and the picture."""
    at, left = middle.height - lower, (middle.width + 1) // 2
    return {
        name: Area(middle.x, 0, middle.width, at),
        "parade": Area(middle.x, at, left, lower),
        "picture": Area(middle.x + left, at, middle.width - left, lower),
    }


Middle = Callable[[Area, Instrument | None], dict[str, Area]]
"""Panes of the middle by name; one instrument alone where it is named."""
