"""Ranges letter by letter on made-up counts, and their shares against what the matte itself takes."""

from itertools import product
from math import hypot, nan

import numpy as np
import pytest

from poise.chain.matte import key
from poise.correction.model import HueInterval, Inside, Interval, Matte
from poise.scopes import Colours
from poise_tui.draw.cells import Ink
from poise_tui.draw.palette import THEMES, palette
from poise_tui.draw.scopes.ranges import FULL_CHROMA, INSIDE, MARGIN, OUTSIDE, SOFT, draw_ranges

STEPPED = Colours(np.repeat([0, 1, 4, 16], 9), np.repeat([16, 4, 1, 0, 0], 4), np.repeat([1, 0, 16, 0], 9))
"""Steps of 1, 4 and 16, whose square roots are a quarter, half and all of the height."""
NOTHING = Colours(*(np.zeros(36, np.int64) for _ in range(3)))
SEA = Matte("sea", hue=HueInterval(180, 260, 40), chroma=Interval(0.12, 0.3, 0.1), luma=Interval(0.2, 0.6, 0.2))
WIDTH = MARGIN + 36


def axes(matte: Matte, at: tuple[float, float, float] | None = None, columns: int = WIDTH) -> list[str]:
    """The three axes alone, without their names; ten degrees a cell."""
    return [line[MARGIN:] for line in draw_ranges(STEPPED, matte, at, columns, 3).lines()]


def test_ranges_stand_below_their_histograms() -> None:
    # By ITU-R BT.709 the bars stand at 50 M, 103 R, 175 Y, 230 G, 283 C and 355 B degrees of atan2(Cr, Cb).
    assert draw_ranges(STEPPED, SEA, (200.0, 0.25, 0.5), WIDTH, 9).lines() == [
        "                                  ⣿⣿⣿⣿⣿⣿⣿⣿⣿",
        "                ⣤⣤⣤⣤⣤⣤⣤⣤⣤⣿⣿⣿⣿⣿⣿⣿⣿⣿⣿⣿⣿⣿⣿⣿⣿⣿⣿",
        "hue    ....M.....R...---Y[=^=G===]-C-.....B",
        "       ⣿⣿⣿⣿⣿⣿⣿⣿⣿⣿⣿⣿                        ",
        "       ⣿⣿⣿⣿⣿⣿⣿⣿⣿⣿⣿⣿⣿⣿⣿⣿⣿⣿⣿⣿⣿⣿⣿⣿⣤⣤⣤⣤⣤⣤⣤⣤⣤⣤⣤⣤",
        "chroma .------[=======^==]-----............",
        "                         ⣿⣿⣿⣿⣿⣿⣿⣿⣿         ",
        "       ⣤⣤⣤⣤⣤⣤⣤⣤⣤         ⣿⣿⣿⣿⣿⣿⣿⣿⣿         ",
        "luma   -------[==========^==]-------.......",
    ]


def test_in_plain_characters_density_stands_for_height() -> None:
    assert draw_ranges(STEPPED, SEA, None, MARGIN + 8, 6, unicode=False).lines() == [
        "         ..::##",
        "hue    .MRY[]CB",
        "       ###:::..",
        "chroma -[==]...",
        "       ..  ##  ",
        "luma   -[==]-..",
    ]


def test_a_hue_range_past_360_is_shown_at_both_ends() -> None:
    hue, _, _ = axes(Matte("lamp", hue=HueInterval(330, 40, 20)))
    assert hue == "====]-....R......Y....G.....C..--[=B"
    assert axes(Matte("lamp", hue=HueInterval(350, 0)))[0] == "]...M.....R......Y....G.....C......["


def test_all_is_inside_from_end_to_end() -> None:
    everything = "[" + "=" * 34 + "]"
    assert axes(Matte("all")) == ["[===M=====R======Y====G=====C======]", everything, everything]


def test_an_empty_range_takes_nothing() -> None:
    _, chroma, luma = axes(Matte("none", chroma=Interval(0.4, 0.2, 0.1), luma=Interval(0.52, 0.51, 0.5)))
    assert chroma == "............]...........[..........."
    assert luma == "." * 36
    cells = draw_ranges(STEPPED, Matte("none", luma=Interval(0.9, 0.1, 1)), None, WIDTH, 9)
    assert set(cells.steps[6:, MARGIN:].ravel().tolist()) == {OUTSIDE}


def test_a_range_narrower_than_a_cell_is_still_seen() -> None:
    hue, chroma, luma = axes(Matte("buoy", hue=HueInterval(121, 122), luma=Interval(0.34, 0.34)))
    assert (hue[12], luma[12]) == ("|", "|")
    assert (hue.count("="), chroma.count("="), luma.count("=")) == (0, 34, 0)


def test_the_mark_of_the_cursor_keeps_ends_in_sight() -> None:
    cells = draw_ranges(STEPPED, SEA, (185.0, 0.7, 1.3), WIDTH, 3)
    marked = [[cells.lines()[row][column] for column in np.nonzero(cells.inks[row] == Ink.MARK)[0]] for row in range(3)]
    assert marked == [["["], ["^"], ["^"]]  # beyond an axis at its end
    neutral = draw_ranges(STEPPED, SEA, (nan, 0.0, 0.5), WIDTH, 3)
    assert [list(row).count(Ink.MARK) for row in neutral.inks.tolist()] == [0, 1, 1]


def test_shares_are_those_of_the_matte() -> None:
    # Colours made from the middle of each cell by the inverse of ITU-R BT.709-6, items 3.2 and 3.3, at luma 0.5.
    degrees = (np.arange(36) + 0.5) * 10
    cb, cr = 0.2 * np.cos(np.radians(degrees)), 0.2 * np.sin(np.radians(degrees))
    blue, red = 0.5 + 1.8556 * cb, 0.5 + 1.5748 * cr
    green = (0.5 - 0.2126 * red - 0.0722 * blue) / 0.7152
    taken = key(np.stack([red, green, blue], axis=-1), Matte("sea", hue=SEA.hue))
    ends = [18, 26]
    steps = draw_ranges(STEPPED, SEA, None, WIDTH, 9).steps[:3, MARGIN:]
    expected = np.where(taken >= 1, INSIDE, np.where(taken > 0, SOFT, OUTSIDE))
    expected[ends] = INSIDE
    assert (steps == expected).all()
    assert set(expected.tolist()) == {INSIDE, SOFT, OUTSIDE}


def test_the_steps_differ_in_every_palette() -> None:
    for theme, depth in product(THEMES, ("truecolor", "256", "standard")):
        fore = palette(theme, depth).fore[Ink.LUMA]
        assert len({int(fore[step]) for step in (INSIDE, SOFT, OUTSIDE)}) == 3


def test_the_axis_of_chroma_holds_every_colour() -> None:
    # ITU-R BT.709-6, item 3.3, at the corners of R'G'B'; on a convex body the farthest point is a corner
    reached = []
    for red, green, blue in product((0, 1), repeat=3):
        luma = 0.2126 * red + 0.7152 * green + 0.0722 * blue
        reached.append(hypot((blue - luma) / 1.8556, (red - luma) / 1.5748))
    assert 0.95 * FULL_CHROMA < max(reached) <= FULL_CHROMA


def test_what_lies_beyond_the_axis_of_chroma_stands_at_its_end() -> None:
    far = np.zeros(100, np.int64)
    far[-1] = 7
    line = draw_ranges(Colours(NOTHING.hue, far, NOTHING.luma), Matte("all"), None, WIDTH, 6, unicode=False).lines()[2]
    assert line == " " * (WIDTH - 1) + "#"


@pytest.mark.parametrize("bins", [1, 7, 36, 360, 1000])
def test_an_even_picture_is_level_at_any_number_of_bins(bins: int) -> None:
    counts = Colours(*(np.full(bins, 5) for _ in range(3)))
    lines = draw_ranges(counts, Matte("all"), None, 57, 9).lines()
    assert lines[0][MARGIN:] == lines[6][MARGIN:] == "\u28ff" * (57 - MARGIN)


def test_a_single_pixel_shows_beside_a_million() -> None:
    counts = np.array([1, 0, 0, 1_000_000])
    drawn = draw_ranges(Colours(counts, counts, counts), Matte("all"), None, MARGIN + 8, 9).lines()
    assert (drawn[0][MARGIN:], drawn[1][MARGIN:]) == ("      ⣿⣿", "⣀⣀    ⣿⣿")


@pytest.mark.parametrize("unicode", [True, False])
def test_every_size_is_filled_and_no_more(unicode: bool) -> None:
    at = (355.0, 0.1, 0.9)
    for columns, rows in product((0, 1, 2, 3, 8, 14, 15, 57), range(12)):
        assert draw_ranges(NOTHING, SEA, at, columns, rows, unicode).shape == (rows, columns)
    assert draw_ranges(STEPPED, Matte("all"), None, 1, 1).lines() == ["|"]


def test_few_rows_keep_the_axes() -> None:
    names = [[line[:6].rstrip() for line in draw_ranges(STEPPED, SEA, None, 57, rows).lines()] for rows in (1, 2, 3, 5)]
    assert names == [["hue"], ["hue", "chroma"], ["hue", "chroma", "luma"], ["", "hue", "", "chroma", "luma"]]
    assert draw_ranges(STEPPED, SEA, None, 14, 3).lines()[1] == "--[====]-....."  # no room for names


def test_it_is_drawn_once_while_only_the_inside_changes() -> None:
    one, other = Matte("sea"), Matte("sea", inside=Inside(exposure=0.5))
    assert draw_ranges(STEPPED, one, None, 40, 9) is draw_ranges(STEPPED, other, None, 40, 9)
    assert draw_ranges(NOTHING, one, None, 40, 9).lines() != draw_ranges(STEPPED, one, None, 40, 9).lines()
