"""The palette: few colours, each with one meaning, in a dark and a light theme, for every colour depth."""

from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import numpy as np
import numpy.typing as npt

from poise_tui.draw.capability import Colours
from poise_tui.draw.cells import STEPS, Cells, Ink
from poise_tui.draw.pens import DEFAULT, pens
from poise_tui.draw.raster import BOLD, REVERSE, Raster

Theme = Literal["dark", "light"]
THEMES: tuple[Theme, ...] = ("dark", "light")

GROUND: dict[Theme, str] = {"dark": "#0f1315", "light": "#f3f1ec"}
"""The background of everything."""
TEXT: dict[Theme, str] = {"dark": "#c3cbce", "light": "#2b3033"}
BAR: dict[Theme, str] = {"dark": "#263238", "light": "#dcd7cb"}
"""The background of the current shot."""

_TRUE: dict[Theme, dict[Ink, tuple[str, ...]]] = {
    "dark": {
        Ink.GRATICULE: ("#4f5b62",),
        Ink.MARK: ("#c8a45a",),
        Ink.SKIN: ("#a8775c",),
        Ink.TEXT: (TEXT["dark"],),
        Ink.FAINT: ("#75838a",),
        Ink.TITLE: ("#8fa9b3",),
        Ink.KEY: ("#c8a45a",),
        Ink.CHOSEN: ("#f2f5f5",),
        Ink.WARNING: ("#ff9d6c",),
        Ink.LUMA: ("#5a646a", "#8d979c", "#c0c7ca", "#f2f5f5"),
        Ink.RED: ("#7d3531", "#aa4a43", "#d86259", "#ff9489"),
        Ink.GREEN: ("#2f633b", "#429152", "#5bbd6f", "#93ee9f"),
        Ink.BLUE: ("#36548f", "#4a70bb", "#6795e8", "#9dc0ff"),
        Ink.GHOST: ("#4d4166", "#4d4166", "#b08fe8", "#b08fe8"),
        Ink.ENDS: ("#ff5fd0",),
    },
    "light": {
        Ink.GRATICULE: ("#a9a598",),
        Ink.MARK: ("#8a6414",),
        Ink.SKIN: ("#9c5d3c",),
        Ink.TEXT: (TEXT["light"],),
        Ink.FAINT: ("#6a665e",),
        Ink.TITLE: ("#46626e",),
        Ink.KEY: ("#8a6414",),
        Ink.CHOSEN: ("#000000",),
        Ink.WARNING: ("#b23a06",),
        Ink.LUMA: ("#a3a6a5", "#777c7c", "#4a4f50", "#161919"),
        Ink.RED: ("#dd9d97", "#cd6a61", "#b43a30", "#85150d"),
        Ink.GREEN: ("#93c49c", "#579f64", "#2b7a3a", "#0c5219"),
        Ink.BLUE: ("#9db4df", "#6689c9", "#3560b0", "#153c85"),
        Ink.GHOST: ("#cdbfe6", "#cdbfe6", "#6a3fb0", "#6a3fb0"),
        Ink.ENDS: ("#a0127d",),
    },
}
_SIXTEEN: dict[Theme, dict[Ink, tuple[int, ...]]] = {
    "dark": {
        Ink.GRATICULE: (8,),
        Ink.MARK: (3,),
        Ink.SKIN: (3,),
        Ink.TEXT: (7,),
        Ink.FAINT: (8,),
        Ink.TITLE: (6,),
        Ink.KEY: (3,),
        Ink.CHOSEN: (15,),
        Ink.WARNING: (11,),
        Ink.LUMA: (8, 7, 7, 15),
        Ink.RED: (1, 1, 9, 9),
        Ink.GREEN: (2, 2, 10, 10),
        Ink.BLUE: (4, 12, 12, 12),
        Ink.GHOST: (5, 5, 13, 13),
        Ink.ENDS: (14,),
    },
    "light": {
        Ink.GRATICULE: (7,),
        Ink.MARK: (3,),
        Ink.SKIN: (3,),
        Ink.TEXT: (0,),
        Ink.FAINT: (8,),
        Ink.TITLE: (6,),
        Ink.KEY: (3,),
        Ink.CHOSEN: (0,),
        Ink.WARNING: (1,),
        Ink.LUMA: (7, 8, 8, 0),
        Ink.RED: (1, 1, 1, 1),
        Ink.GREEN: (2, 2, 2, 2),
        Ink.BLUE: (4, 4, 4, 4),
        Ink.GHOST: (13, 13, 5, 5),
        Ink.ENDS: (6,),
    },
}
"""The first sixteen colours of a terminal, chosen by hand: a search would ruin the ramps."""
_SIXTEEN_GROUND: dict[Theme, int] = {"dark": 0, "light": 15}

_WITHOUT = {
    **dict.fromkeys((Ink.TITLE, Ink.KEY, Ink.MARK, Ink.GHOST, Ink.ENDS), BOLD),
    Ink.CHOSEN: REVERSE,
    Ink.WARNING: BOLD | REVERSE,
}
"""How inks differ without colours."""


@dataclass(frozen=True)
class Palette:
    """Inks as pens, for one theme and one colour depth.

    Attributes:
        fore, back: (inks, STEPS) int32 pens.
        attributes: (inks,) uint8.
        ground: the pen behind everything.
    """

    fore: npt.NDArray[np.int32]
    back: npt.NDArray[np.int32]
    attributes: npt.NDArray[np.uint8]
    ground: int

    def raster(self, cells: Cells) -> Raster:
        """Cells in colour."""
        fore, back = self.fore[cells.inks, cells.steps], self.back[cells.inks, cells.steps]
        return Raster(cells.glyphs.view(np.uint32), fore, back, self.attributes[cells.inks]).plain_blanks()


@lru_cache(maxsize=16)
def palette(theme: Theme, colours: Colours) -> Palette:
    """The palette of a theme at a colour depth.

    Example:
        >>> int(palette("dark", "standard").fore[Ink.RED, 3])
        9
    """
    fore = np.full((len(Ink), STEPS), DEFAULT, np.int32)
    back = np.full((len(Ink), STEPS), DEFAULT, np.int32)
    attributes = np.zeros(len(Ink), np.uint8)
    ground = DEFAULT
    if colours is None:
        for ink, attribute in _WITHOUT.items():
            attributes[ink] = attribute
    elif colours == "standard":
        ground = _SIXTEEN_GROUND[theme]
        back[...] = ground
        for ink, numbers in _SIXTEEN[theme].items():
            fore[ink] = _stepped(numbers)
        attributes[Ink.CHOSEN] = REVERSE
    else:
        ground = int(_pens((GROUND[theme],), colours)[0])
        back[...] = ground
        back[Ink.CHOSEN] = _pens((BAR[theme],), colours)[0]
        for ink, shades in _TRUE[theme].items():
            fore[ink] = _stepped(tuple(_pens(shades, colours).tolist()))
    return Palette(fore, back, attributes, ground)


def _stepped(values: tuple[int, ...]) -> tuple[int, ...]:
    return values * STEPS if len(values) == 1 else values


def _pens(shades: tuple[str, ...], colours: Colours) -> npt.NDArray[np.int32]:
    return pens(np.array([[int(shade[i : i + 2], 16) for i in (1, 3, 5)] for shade in shades]), colours)
