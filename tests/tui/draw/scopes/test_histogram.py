"""Bars of a small histogram, letter by letter: lengths go by the square root, 16 of 16 pixels being full."""

import numpy as np

from poise_tui.draw.cells import Ink
from poise_tui.draw.scopes.histogram import draw_histogram, marks

COUNTS = np.array([[0, 1, 4, 16], [16, 0, 0, 0], [0, 0, 0, 0], [1, 1, 1, 1]])
"""Luma, red, green and blue, lowest level first."""


def test_bars_grow_by_the_square_root_with_the_highest_level_on_top() -> None:
    # 4 of 16 are half of five cells, 2.5, which is rounded to even; one pixel is a quarter, one cell
    assert draw_histogram(COUNTS, 30, unicode=False).lines() == [
        "100 ##### - - - - - - #####",
        " 50 ##- - - - - - - - #####",
        " 25 # - - - - - - - - #####",
        "  0 - - - ##### - - - #####",
    ]


def test_in_braille_two_dots_go_to_a_cell() -> None:
    # U+28FF has all eight dots, U+2847 the left four: 2.5 cells
    assert draw_histogram(COUNTS.repeat(4, axis=1), 30).lines() == [
        "100 ⣿⣿⣿⣿⣿ ⠁ ⠁ ⠁ ⠁ ⠁ ⠁ ⣿⣿⣿⣿⣿",
        " 50 ⣿⣿⡇ ⡀ ⡀ ⡀ ⡀ ⡀ ⡀ ⡀ ⣿⣿⣿⣿⣿",
        " 25 ⣿ ⡀ ⡀ ⡀ ⡀ ⡀ ⡀ ⡀ ⡀ ⣿⣿⣿⣿⣿",
        "  0 ⡀ ⡀ ⡀ ⣿⣿⣿⣿⣿ ⡀ ⡀ ⡀ ⣿⣿⣿⣿⣿",
    ]


def test_luma_stands_alone_where_there_is_little_room() -> None:
    assert draw_histogram(COUNTS, 14, unicode=False).lines() == [
        "100 ##########",
        " 50 ##### - - ",
        " 25 ##- - - - ",
        "  0 - - - - - ",
    ]
    assert [len(marks(columns)) for columns in (6, 18, 19, 30)] == [1, 1, 4, 4]


def test_a_single_pixel_shows_beside_a_million() -> None:
    counts = np.array([[1, 1_000_000]] * 4)
    assert draw_histogram(counts, 30, unicode=False).lines()[1].split()[1][0] == "#"


def test_each_channel_has_its_own_ink() -> None:
    inks = draw_histogram(np.ones((4, 3), np.int64), 30, unicode=False).inks[0]
    assert [inks[column] for column in (4, 10, 16, 22)] == [Ink.LUMA, Ink.RED, Ink.GREEN, Ink.BLUE]


def test_bars_fit_at_every_width() -> None:
    for columns in range(1, 80):
        rows, wide = draw_histogram(COUNTS, columns, unicode=False).shape
        assert rows == 4
        assert wide <= max(columns, 5)
