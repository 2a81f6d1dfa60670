"""The figures of a patch, line by line, and at every size that a pane may have."""

import numpy as np

from poise_tui.draw.cells import Ink
from poise_tui.draw.panes.patch import draw_patch, figures

SAND = np.full((3, 4, 3), (0.5, 0.45, 0.3), np.float64)


def test_a_patch_says_its_size_its_means_and_how_far_they_are_apart() -> None:
    levels = SAND.copy()
    levels[0] += 0.03
    levels[1] -= 0.03
    assert draw_patch(levels, 0.02, 20, 7).lines() == [
        "patch, 2 % of height",
        "red           50.0 %",
        "green         45.0 %",
        "blue          30.0 %",
        "rgb spread    20.0 %",
        "                    ",
        "                    ",
    ]


def test_channels_have_their_colours() -> None:
    cells = draw_patch(SAND, 0.02, 20, 7)
    assert [Ink(int(cells.inks[row, 0])) for row in (1, 2, 3)] == [Ink.RED, Ink.GREEN, Ink.BLUE]


def test_a_grey_patch_has_luma_alone() -> None:
    assert figures(np.array([0.18])) == (("luma", "18.0 %", False),)
    assert draw_patch(np.full((2, 2, 1), 0.18), 0.08, 22, 3).lines() == [
        "patch, 8 % of height  ",
        "luma            18.0 %",
        "                      ",
    ]


def test_pixels_that_are_no_numbers_are_left_out() -> None:
    levels = SAND.copy()
    levels[0] = np.nan
    levels[1, 1, 2] = np.inf
    assert draw_patch(levels, 0.02, 20, 5).lines() == draw_patch(SAND, 0.02, 20, 5).lines()
    levels[:] = np.nan
    told = draw_patch(levels, 0.02, 20, 3)
    assert told.lines()[1:] == ["no valid pixels     ", " " * 20]
    assert Ink(int(told.inks[1, 0])) is Ink.WARNING


def test_levels_beyond_the_scale_are_told_as_they_are() -> None:
    assert [value for _, value, _ in figures(np.array([1.25, 1.0, -0.02]))] == [
        *("125.0 %", "100.0 %", "-2.0 %", "127.0 %")
    ]


def test_it_fits_every_pane() -> None:
    for columns in range(1, 31):
        for rows in range(1, 9):
            for levels in (SAND, SAND[..., :1], SAND * np.nan):
                lines = draw_patch(levels, 0.04, columns, rows).lines()
                assert [len(line) for line in lines] == [columns] * rows
