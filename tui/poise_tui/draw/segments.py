"""Rasters as rich segments, one for each run of cells that look the same, where rich or textual draw them."""

from functools import lru_cache
from itertools import groupby

from rich.color import Color
from rich.segment import Segment
from rich.style import Style

from poise_tui.draw.pens import DEFAULT, TRUE
from poise_tui.draw.raster import BOLD, REVERSE, Raster


def segments(raster: Raster, row: int) -> list[Segment]:
    """One row of a raster."""
    planes = (raster.fore, raster.back, raster.attributes, raster.glyphs)
    cells = zip(*(plane[row].tolist() for plane in planes), strict=True)
    runs = groupby(cells, key=lambda cell: cell[:3])
    return [Segment("".join(chr(cell[3]) for cell in run if cell[3]), style(*look)) for look, run in runs]


@lru_cache(maxsize=65536)
def style(fore: int, back: int = DEFAULT, attribute: int = 0) -> Style:
    """Pens as a style; never None, which textual's filters can't take.

    Example:
        >>> str(style(9))
        'bright_red'
    """
    return Style(
        color=_colour(fore),
        bgcolor=_colour(back),
        bold=bool(attribute & BOLD) or None,
        reverse=bool(attribute & REVERSE) or None,
    )


def _colour(pen: int) -> Color | None:
    if pen == DEFAULT:
        return None
    return Color.from_rgb(pen >> 16 & 255, pen >> 8 & 255, pen & 255) if pen >= TRUE else Color.from_ansi(pen)
