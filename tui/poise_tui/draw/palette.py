"""The palette: few colours, each with one meaning, for every colour depth a terminal may have."""

from itertools import groupby

from rich.segment import Segment
from rich.style import Style

from poise_tui.draw.capability import Colours
from poise_tui.draw.cells import STEPS, Cells, Ink

_TRUE: dict[Ink, tuple[str, ...]] = {
    Ink.NONE: ("",),
    Ink.GRATICULE: ("#5f6b73",),
    Ink.MARK: ("#c8a45a",),
    Ink.SKIN: ("#a8775c",),
    Ink.LUMA: ("#5a646a", "#8d979c", "#c0c7ca", "#f2f5f5"),
    Ink.RED: ("#6d2f2c", "#a1443e", "#d55f56", "#ff9489"),
    Ink.GREEN: ("#2b5a35", "#3f8a4f", "#58bb6c", "#93ee9f"),
    Ink.BLUE: ("#2f4a80", "#426bb5", "#5f90e6", "#9dc0ff"),
}
_SIXTEEN: dict[Ink, tuple[str, ...]] = {
    Ink.NONE: ("",),
    Ink.GRATICULE: ("bright_black",),
    Ink.MARK: ("yellow",),
    Ink.SKIN: ("yellow",),
    Ink.LUMA: ("bright_black", "white", "white", "bright_white"),
    Ink.RED: ("red", "red", "red", "bright_red"),
    Ink.GREEN: ("green", "green", "green", "bright_green"),
    Ink.BLUE: ("blue", "blue", "bright_blue", "bright_blue"),
}


def style(ink: Ink, step: int = STEPS - 1, colours: Colours = "truecolor") -> Style:
    """The style of an ink; 16 colours are chosen by hand, 256 are the nearest to the true ones.

    Example:
        >>> str(style(Ink.RED, 3, "standard"))
        'bright_red'
    """
    if colours is None:
        return Style()
    shades = (_SIXTEEN if colours == "standard" else _TRUE)[ink]
    return Style.parse(shades[min(step, len(shades) - 1)])


def segments(cells: Cells, colours: Colours) -> list[list[Segment]]:
    """Cells as rows of segments, one for each run of the same ink and step."""
    rows = []
    for glyphs, inks, steps in zip(cells.glyphs.tolist(), cells.inks.tolist(), cells.steps.tolist(), strict=True):
        runs = groupby(zip(glyphs, inks, steps, strict=True), key=lambda cell: (cell[1], cell[2]))
        rows.append([Segment("".join(c[0] for c in run), style(Ink(ink), step, colours)) for (ink, step), run in runs])
    return rows
