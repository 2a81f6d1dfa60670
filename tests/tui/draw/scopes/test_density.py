"""Density as text: thin lines stay whole, a thick cloud shows its core; a count grid first, then its drawing."""

import math

import numpy as np
import numpy.typing as npt
import pytest

from poise.scopes import waveform
from poise_tui.draw.braille import dithered
from poise_tui.draw.cells import STEPS, Ink
from poise_tui.draw.scopes.traces import draw_vectorscope, trace

HEIGHT, WIDTH = 60, 32
Picture = npt.NDArray[np.float32]


def rows_alike(levels: npt.NDArray[np.float64]) -> Picture:
    """A picture of HEIGHT equal rows."""
    return np.repeat(levels.astype(np.float32)[None, :, None], HEIGHT, axis=0)


RAMP = rows_alike(np.linspace(0, 1, WIDTH))
# luma of the eight bars at full amplitude, ITU-R BT.709, rounded: white, yellow, cyan, green, magenta, red, blue, black
BARS = rows_alike(np.repeat([1, 0.93, 0.79, 0.72, 0.28, 0.21, 0.07, 0], WIDTH // 8))
NOISE = np.random.default_rng(7).normal(0.5, 0.12, (8 * HEIGHT, WIDTH, 1)).astype(np.float32)
EVEN = np.random.default_rng(7).random((8 * HEIGHT, WIDTH, 1)).astype(np.float32)


def with_outlier() -> Picture:
    picture = RAMP.copy()
    picture[0, 4] = 0.9
    return picture


def braille(picture: Picture) -> list[str]:
    return trace(waveform(picture, 16, 24), Ink.LUMA, True).lines()


def plain(picture: Picture) -> list[str]:
    return trace(waveform(picture, 16, 11), Ink.LUMA, False).lines()


def test_a_ramp_is_a_whole_line() -> None:
    grid = waveform(RAMP, 16, 24)
    assert grid.sum(axis=0).tolist() == [2 * HEIGHT] * 16
    assert (dithered(grid) == (grid > 0)).all()
    assert braille(RAMP) == [
        "      ⢀⡔",
        "     ⢠⠎ ",
        "    ⡴⠁  ",
        "  ⢀⠞    ",
        " ⡰⠃     ",
        "⠜⠁      ",
    ]
    assert plain(RAMP) == [
        "               #",
        "             ## ",
        "            ##  ",
        "          ##    ",
        "         ##     ",
        "       ##       ",
        "     ##         ",
        "    ##          ",
        "  ##            ",
        " ##             ",
        "#               ",
    ]


def test_one_outlier_among_two_thousand_pixels_stays() -> None:
    grid = waveform(with_outlier(), 16, 24)
    assert (int(grid[3, 2]), int(grid.sum())) == (1, HEIGHT * WIDTH)
    assert braille(with_outlier()) == [" ⡀    ⢀⡔", *braille(RAMP)[1:]]
    assert plain(with_outlier())[1] == "  .          ## "


def test_bars_are_whole_lines() -> None:
    grid = waveform(BARS, 16, 24)
    assert np.count_nonzero(grid) == 16
    assert braille(BARS) == [
        "⠒⠤      ",
        "  ⠒⣀    ",
        "        ",
        "        ",
        "    ⠉⠤  ",
        "      ⠒⠤",
    ]
    assert plain(BARS)[0] == "##              "


def test_noise_shows_its_core() -> None:
    grid = waveform(NOISE, 16, 24)
    # rows 9 to 14 reach from 36.25 to 63.75 %, 1.146 deviations to either side: erf(1.146 / sqrt 2) of a normal
    # distribution
    assert grid[9:15].sum() / grid.sum() == pytest.approx(math.erf(1.1458 / math.sqrt(2)), abs=0.01)
    assert braille(NOISE) == [
        "⡀⠄⠄⠐⠂⡀ ⢀",
        "⢄⢄⢄⠄⢄⢄⠄⢀",
        "⢽⣵⢽⣽⣵⣵⣵⢵",
        "⢽⢿⢽⢽⢽⢽⢽⢿",
        "⠁⠁⠁⠁⠁⠅⠁⠁",
        "⠁⠐⠁⠁⠂⠁⠂⠂",
    ]
    assert plain(NOISE) == [
        "   .   ..       ",
        ". ...  .....  ..",
        "................",
        "::::**::*:::::::",
        "************#***",
        "################",
        "**#*************",
        ":::**:*::*::*:::",
        "................",
        "....... ........",
        "                ",
    ]


def test_an_even_spread_lights_half_of_the_dots() -> None:
    assert braille(EVEN)[1:5] == ["⢕" * 8] * 4  # U+2895: every second dot, as on a chequerboard
    lit = dithered(np.full((40, 40), 9))
    assert lit.mean() == 0.5


def test_a_sample_is_drawn_like_the_whole() -> None:
    whole = waveform(np.repeat(NOISE, 16, axis=0), 16, 24)
    assert (dithered(whole) == dithered(waveform(NOISE, 16, 24))).all()


def test_the_core_is_brighter_too() -> None:
    narrow = 0.42 + (NOISE - 0.5) / 2  # nine tenths of it within the fourth row of cells
    cells = trace(waveform(narrow, 16, 24), Ink.LUMA, True)
    assert (cells.steps[3] == STEPS - 1).all()
    assert (cells.steps[[0, 1, 2, 4, 5]] == 1).all()


def test_nothing_that_was_counted_is_lost() -> None:
    grid = np.random.default_rng(1).integers(0, 3, (40, 40)) * np.random.default_rng(2).integers(0, 900, (40, 40))
    blocks = (part.reshape(10, 4, 20, 2).any(axis=(1, 3)) for part in (grid, dithered(grid)))
    np.testing.assert_array_equal(*blocks)
    assert not (dithered(grid) & (grid == 0)).any()


def test_a_vectorscope_shows_its_core_and_a_lone_colour() -> None:
    counts = np.zeros((32, 32), np.int64)
    counts[12:20, 12:20] = 2
    counts[14:18, 14:18] = 400
    counts[4, 4] = 1
    lines = draw_vectorscope(counts).lines()
    assert lines[1][2] == "⠁"
    assert [line[6:10] for line in lines[3:5]] == ["⠅⣥⣥⠅", "⠅⠟⠟⠅"]
