"""Cells and pictures as rich segments, for output that is printed once instead of being redrawn in place."""

from collections.abc import Sequence
from dataclasses import replace
from io import StringIO
from textwrap import wrap
from typing import Any

import numpy as np
import numpy.typing as npt
from rich.console import Console
from rich.segment import Segment, Segments
from rich.style import Style

from poise_tui.draw.capability import Capability, Colours
from poise_tui.draw.cells import STEPS, Cells, Ink
from poise_tui.draw.palette import palette
from poise_tui.draw.raster import Raster
from poise_tui.draw.scopes.picture import coloured, draw_picture, fitted, sampled
from poise_tui.draw.segments import segments as raster_segments
from poise_tui.draw.segments import style as pen_style
from poise_tui.printing.layout import Line


def style(ink: Ink, colours: Colours) -> Style:
    """The style of an ink on the terminal's own background."""
    return pen_style(int(palette("dark", colours).fore[ink, STEPS - 1]))


def segments(cells: Cells, colours: Colours) -> list[list[Segment]]:
    """Cells as rows of segments on the terminal's own background."""
    return _rows(palette("dark", colours).fore[cells.inks, cells.steps], cells.glyphs.view(np.uint32))


def _rows(fore: npt.NDArray[np.int32], glyphs: npt.NDArray[np.uint32]) -> list[list[Segment]]:
    raster = replace(Raster.blank(*glyphs.shape), fore=fore, glyphs=glyphs)
    return [raster_segments(raster, row) for row in range(len(glyphs))]


def printed(lines: Sequence[Line], able: Capability) -> str:
    """Lines as text, with the colour codes that the terminal understands and without trailing blanks."""
    console = Console(
        file=StringIO(),
        width=able.width,
        color_system=able.colours,
        no_color=False,
        force_terminal=True,
        legacy_windows=False,
    )
    with console.capture() as capture:
        console.print(Segments([part for line in lines for part in (*line, Segment.line())]), soft_wrap=True)
    return "\n".join(line.rstrip() for line in capture.get().rstrip("\n").split("\n")) + "\n"


def broken(text: str, width: int, ink: Ink, able: Capability) -> list[Line]:
    """A text in lines of at most `width` cells, indented after the first; in ASCII if nothing else can be sent."""
    sent = text if able.unicode else able.text(text).encode("ascii", "backslashreplace").decode()
    pen = style(ink, able.colours)
    return [[Segment(line, pen)] for line in wrap(sent, width, subsequent_indent="  ")]


def picture(
    levels: npt.NDArray[Any], columns: int, rows: int, colours: Colours, unicode: bool = True
) -> list[list[Segment]]:
    """A picture in at most `columns` by `rows` cells: half blocks, or characters in six hues where colours are few.

    Args:
        levels: (height, width, 1 or 3) 0..1, encoded for display.
    """
    across, down = fitted(levels.shape[1], levels.shape[0], columns, rows)
    if not coloured(colours, unicode):
        drawn = draw_picture(levels, columns, rows, colours, unicode)
        return _rows(drawn.fore, drawn.glyphs)
    from PIL import Image
    from rich_pixels import Pixels

    small = np.clip(np.nan_to_num(sampled(levels, across, 2 * down)), 0, 1)
    codes = np.rint(255 * np.broadcast_to(small, (*small.shape[:2], 3))).astype(np.uint8)
    cells = Console(width=across).render(Pixels.from_image(Image.fromarray(codes)))
    return [line for line in Segment.split_lines(cells) if line]
