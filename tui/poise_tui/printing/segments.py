"""Cells and pictures as rich segments, for output that is printed once instead of being redrawn in place."""

from collections.abc import Sequence
from io import StringIO
from itertools import groupby
from textwrap import wrap
from typing import Any

import numpy as np
import numpy.typing as npt
from rich.color import Color
from rich.console import Console
from rich.segment import Segment, Segments
from rich.style import Style

from poise_tui.draw.capability import Capability, Colours
from poise_tui.draw.cells import STEPS, Cells, Ink
from poise_tui.draw.palette import palette
from poise_tui.draw.pens import DEFAULT, TRUE
from poise_tui.draw.scopes.picture import coloured, draw_picture, fitted, sampled
from poise_tui.printing.layout import Line


def style(ink: Ink, step: int = STEPS - 1, colours: Colours = "truecolor") -> Style:
    """The style of an ink on the terminal's own background.

    Example:
        >>> str(style(Ink.RED, 3, "standard"))
        'bright_red'
    """
    return _pen_style(int(palette("dark", colours).fore[ink, step]))


def _pen_style(pen: int) -> Style:
    if pen == DEFAULT:
        return Style()
    if pen >= TRUE:
        return Style(color=Color.from_rgb(pen >> 16 & 255, pen >> 8 & 255, pen & 255))
    return Style(color=Color.from_ansi(pen))


def segments(cells: Cells, colours: Colours) -> list[list[Segment]]:
    """Cells as rows of segments, one for each run of the same ink and step."""
    rows = []
    for glyphs, inks, steps in zip(cells.glyphs.tolist(), cells.inks.tolist(), cells.steps.tolist(), strict=True):
        runs = groupby(zip(glyphs, inks, steps, strict=True), key=lambda cell: (cell[1], cell[2]))
        rows.append([Segment("".join(c[0] for c in run), style(Ink(ink), step, colours)) for (ink, step), run in runs])
    return rows


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
    pen = style(ink, colours=able.colours)
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
        return [
            [Segment("".join(map(chr, codes)), _pen_style(pen)) for pen, codes in _runs(line, pens)]
            for line, pens in zip(drawn.glyphs.tolist(), drawn.fore.tolist(), strict=True)
        ]
    from PIL import Image
    from rich_pixels import Pixels

    small = np.clip(np.nan_to_num(sampled(levels, across, 2 * down)), 0, 1)
    codes = np.rint(255 * np.broadcast_to(small, (*small.shape[:2], 3))).astype(np.uint8)
    cells = Console(width=across).render(Pixels.from_image(Image.fromarray(codes)))
    return [line for line in Segment.split_lines(cells) if line]


def _runs(codes: list[int], pens: list[int]) -> list[tuple[int, list[int]]]:
    """Neighbouring characters of the same pen together."""
    runs = groupby(zip(pens, codes, strict=True), key=lambda cell: cell[0])
    return [(pen, [code for _, code in run]) for pen, run in runs]
