"""The picture itself, two pixels a cell in half blocks, or as ASCII tones where there is no colour."""

from typing import Any

import numpy as np
import numpy.typing as npt
from rich.console import Console
from rich.segment import Segment

from poise_tui.draw.plain import tones


def fitted(width: int, height: int, columns: int, rows: int) -> tuple[int, int]:
    """The columns and rows of cells that a picture takes, a cell being twice as high as wide; at least one each.

    Example:
        >>> fitted(1920, 1080, 40, 40)
        (40, 11)
    """
    scale = min(columns / width, 2 * rows / height)
    return max(1, round(width * scale)), max(1, round(height * scale / 2))


def draw_picture(levels: npt.NDArray[Any], columns: int, rows: int, colour: bool = True) -> list[list[Segment]]:
    """Draw a picture.

    Args:
        levels: (height, width, 1 or 3) 0..1, encoded for display.
        columns, rows: the most cells it may take.
        colour: half blocks, if the terminal shows colours and Unicode; else tones of ASCII.
    """
    across, down = fitted(levels.shape[1], levels.shape[0], columns, rows)
    if not colour:
        return [[Segment(line)] for line in tones(_sampled(levels, across, down).mean(axis=2))]
    from PIL import Image
    from rich_pixels import Pixels

    small = np.clip(np.nan_to_num(_sampled(levels, across, 2 * down)), 0, 1)
    codes = np.rint(255 * np.broadcast_to(small, (*small.shape[:2], 3))).astype(np.uint8)
    drawn = Console(width=across).render(Pixels.from_image(Image.fromarray(codes)))
    return [line for line in Segment.split_lines(drawn) if line]


def _sampled(levels: npt.NDArray[Any], columns: int, rows: int) -> npt.NDArray[Any]:
    height, width = levels.shape[:2]
    sampled: npt.NDArray[Any] = levels[np.arange(rows) * height // rows][:, np.arange(columns) * width // columns]
    return sampled
