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


Middle = Callable[[Area, Instrument | None], dict[str, Area]]
"""Panes of the middle by name; one instrument alone where it is named."""
