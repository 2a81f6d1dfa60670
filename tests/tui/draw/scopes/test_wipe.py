"""The wipe as text: where its line stands, and two pictures of different shapes joined."""

import numpy as np

from poise_tui.draw.cells import Cells, Ink
from poise_tui.draw.raster import Raster
from poise_tui.draw.scopes.picture import draw_picture
from poise_tui.draw.scopes.wipe import joined, joined_pictures, lay_lines


def plain(level: float, columns: int, rows: int) -> Raster:
    return draw_picture(np.full((rows * 20, columns * 10, 1), level), columns, rows, None, False)


def test_grids_join_at_whole_cells() -> None:
    zeros, ones = np.zeros((1, 6), int), np.ones((1, 6), int)
    assert [int(joined(zeros, ones, split, 2).sum()) for split in (0, 0.2, 0.5, 0.9, 1)] == [6, 4, 2, 0, 0]


def test_the_line_stands_behind_the_trace_and_inside_the_pane() -> None:
    cells = Cells.blank(3, 4)
    cells.put(1, 2, "#", Ink.LUMA)
    lay_lines(cells, (2, 9), False)
    assert cells.lines() == ["  ||", "  #|", "  ||"]


def test_pictures_join_where_the_one_on_the_right_is_split() -> None:
    light, dark = plain(1.0, 8, 2), plain(0.0, 8, 2)
    assert joined_pictures(light, dark, 0.25).lines() == ["@@      "] * 2
    tall = plain(1.0, 4, 4)
    assert joined_pictures(tall, plain(0.5, 8, 2), 0.75).lines() == ["@@@@  ++", "@@@@  ++", "@@@@    ", "@@@@    "]
