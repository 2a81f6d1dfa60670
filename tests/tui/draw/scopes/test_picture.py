"""The picture: four pixels a cell, its cursor, and the magnifier about it."""

from itertools import product

import numpy as np
import numpy.typing as npt
import pytest

from poise_tui.draw.pens import DEFAULT, TRUE
from poise_tui.draw.raster import REVERSE
from poise_tui.draw.scopes.magnifier import with_magnifier
from poise_tui.draw.scopes.picture import cell_of_place, contrasting, draw_picture

GREY = np.full((20, 20, 1), 0.5, np.float32)


def luminance(code: npt.NDArray[np.float64]) -> float:
    """Relative luminance as WCAG 2.2 defines it, of sRGB 0..1."""
    light = np.where(code <= 0.04045, code / 12.92, ((code + 0.055) / 1.055) ** 2.4)
    return float(light @ [0.2126, 0.7152, 0.0722])


def ratio(one: npt.NDArray[np.float64], other: npt.NDArray[np.float64]) -> float:
    """The contrast ratio of WCAG 2.2."""
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def rgb(pen: int) -> npt.NDArray[np.float64]:
    return np.array([pen >> 16 & 255, pen >> 8 & 255, pen & 255]) / 255


def test_the_cursor_is_a_cross_round_its_cell() -> None:
    assert draw_picture(GREY, 10, 5, "truecolor", at=(0.55, 0.5)).lines() == [
        "          ",
        "     │    ",
        "    ─ ─   ",
        "     │    ",
        "          ",
    ]
    assert draw_picture(GREY, 10, 5, None, unicode=False, at=(0.55, 0.5)).lines() == [
        "++++++++++",
        "+++++|++++",
        "++++-+-+++",
        "+++++|++++",
        "++++++++++",
    ]


def test_arms_outside_the_picture_are_cut() -> None:
    assert draw_picture(GREY, 4, 2, "256", at=(0.0, 0.0)).lines() == [" ─  ", "│   "]
    assert draw_picture(GREY, 4, 2, "256", at=(1.0, 1.0)).lines() == ["   │", "  ─ "]
    assert draw_picture(GREY, 1, 1, "256", at=(0.5, 0.5)).lines() == [" "]


def test_the_cell_under_the_cursor_and_all_others_stay_as_they_are() -> None:
    noise = np.random.default_rng(5).random((22, 40, 3))
    for depth, unicode in (("truecolor", True), ("256", True), (None, False)):
        before = draw_picture(noise, 40, 11, depth, unicode)
        after = draw_picture(noise, 40, 11, depth, unicode, (0.5, 0.5))
        changed = {(int(row), int(column)) for row, column in np.argwhere(before.differs(after))}
        assert changed == {(5, 19), (5, 21), (4, 20), (6, 20)}


def test_a_place_is_that_of_the_pixel_shown_there() -> None:
    # one white pixel, at the middle of the cell under the cursor
    for row, column in product(range(5), range(10)):
        picture = np.zeros((10, 10, 1), np.float32)
        picture[2 * row : 2 * row + 2, column] = 1
        shown = draw_picture(picture, 10, 5, "truecolor", at=((column + 0.5) / 10, (row + 0.5) / 5))
        assert shown.back[cell_of_place(((column + 0.5) / 10, (row + 0.5) / 5), 10, 5)] == TRUE + 0xFFFFFF
    assert cell_of_place((-1, 7), 10, 5) == (4, 0)


def test_the_cursor_contrasts_with_every_colour() -> None:
    # 4.5 is what WCAG 2.2, 1.4.3, asks of text; the better of black and white always reaches 4.58
    for colour in product(np.linspace(0, 1, 6), repeat=3):
        picture = np.broadcast_to(np.array(colour), (10, 10, 3))
        shown = draw_picture(picture, 10, 5, "truecolor", at=(0.5, 0.5))
        fore, back = int(shown.fore[2, 4]), int(shown.back[2, 4])
        assert fore in (TRUE, TRUE + 0xFFFFFF)
        assert abs(rgb(back) - np.array(colour)).max() < 0.02
        assert ratio(rgb(fore), rgb(back)) >= 4.4
    assert [contrasting(np.full(3, grey)) for grey in (0, 100, 130, 255)] == [255, 255, 0, 0]


def test_on_an_edge_the_background_lies_between_both_halves() -> None:
    edge = np.zeros((10, 10, 1), np.float32)
    edge[4] = 1  # the upper half of the third row of cells
    shown = draw_picture(edge, 10, 5, "truecolor", at=(0.5, 0.5))
    assert rgb(int(shown.back[2, 4])) == pytest.approx(np.full(3, 0.5), abs=0.01)
    assert shown.fore[2, 4] == TRUE  # black on middle grey


def test_without_colours_the_cross_is_reversed() -> None:
    shown = draw_picture(GREY, 10, 5, "standard", at=(0.5, 0.5))
    assert np.argwhere(shown.attributes == REVERSE).tolist() == [[1, 5], [2, 4], [2, 6], [3, 5]]
    assert set(shown.fore.ravel().tolist()) == {DEFAULT}


def test_a_cell_shows_two_by_two_pixels() -> None:
    # every way to have two colours in a cell: upper left, upper right, lower left and lower right, 1 is white
    ways = np.array([[way >> pixel & 1 for pixel in range(4)] for way in range(16)], np.float32)
    picture = ways.reshape(16, 2, 2).transpose(1, 0, 2).reshape(2, 32, 1)
    shown = draw_picture(picture, 16, 1, "truecolor")
    assert shown.lines() == [" ▘▝▀▖▌▞▛▛▞▌▖▀▝▘ "]
    white = np.array([TRUE + 0xFFFFFF] * 8)
    assert (shown.fore[0, 1:8] == white[1:]).all()
    assert (shown.back[0, 8:] == white).all()
    assert (shown.back[0, :8] == TRUE).all()


def test_of_more_colours_in_a_cell_the_two_that_err_least_are_shown() -> None:
    noise = np.random.default_rng(3).random((12, 20, 3))
    shown = draw_picture(noise.repeat(2, axis=0), 10, 6, "truecolor")  # a cell is twice as high as wide
    cells = noise.reshape(6, 2, 10, 2, 3).transpose(0, 2, 1, 3, 4).reshape(60, 4, 3)
    glyphs = dict(zip(" ▘▝▀▖▌▞▛", range(8), strict=True))
    for cell, glyph, fore, back in zip(cells, "".join(shown.lines()), shown.fore.flat, shown.back.flat, strict=True):
        front = np.array([glyphs[glyph] >> pixel & 1 for pixel in range(4)], bool)
        errors = []
        for way in range(8):  # every way to part four pixels, by brute force
            one = np.array([way >> pixel & 1 for pixel in range(4)], bool)
            sides = [side for side in (cell[one], cell[~one]) if len(side)]
            errors.append(sum(((side - side.mean(axis=0)) ** 2).sum() for side in sides))
        assert errors[glyphs[glyph]] == pytest.approx(min(errors))
        assert abs(rgb(int(back)) - cell[~front].mean(axis=0)).max() < 0.02
        assert abs(rgb(int(fore)) - cell[front].mean(axis=0)).max() < 0.02


def test_sixteen_colours_keep_the_hue_and_the_character_has_the_tone() -> None:
    halves = np.zeros((4, 8, 3), np.float32)
    halves[:, :4], halves[:, 4:] = (0.4, 0.05, 0.1), (0.55, 0.65, 0.85)
    shown = draw_picture(halves, 8, 2, "standard")
    assert shown.lines() == [".." * 2 + "*" * 4] * 2
    assert shown.fore.tolist() == [[1] * 4 + [12] * 4] * 2


def test_the_magnifier_shows_what_is_about_the_cursor_in_the_farthest_corner() -> None:
    picture = np.zeros((200, 400, 1), np.float32)
    picture[149:157, 300:304] = 1  # two cells of the magnifier down and two across
    at = (302 / 400, 153.9 / 200)
    whole = draw_picture(picture, 40, 10, "256", at=at)
    shown = with_magnifier(whole, picture, at, "256")
    # of 40 by 10 cells it has 16 by 4; the cursor is at its middle, and a blank row and column set it off
    assert [line[:17] for line in shown.lines()[:5]] == [
        "                 ",
        "        │        ",
        "       ─ ─       ",
        "        │        ",
        "                 ",
    ]
    assert {int(pen) for pen in shown.back[1:3, 7:9].flat} == {231}
    assert {int(pen) for pen in shown.back[:4, :7].flat} == {16}
    assert {int(pen) for pen in (*shown.back[:5, 16], *shown.back[4, :17])} == {DEFAULT}
    assert not whole.differs(shown)[5:].any()
    low = with_magnifier(whole, picture, (0.1, 0.1), "256")
    assert not whole.differs(low)[:5].any()
    assert whole.differs(low)[5:, 23:].any()


def test_at_an_edge_the_magnifier_stays_in_the_picture_and_a_small_one_has_none() -> None:
    picture = np.random.default_rng(2).random((200, 400, 3))
    for at in product((0.0, 1.0, -3.0, 9.0), repeat=2):
        drawn = draw_picture(picture, 40, 10, "truecolor", at=at)
        assert with_magnifier(drawn, picture, at, "truecolor").shape == (10, 40)
    small = draw_picture(picture, 20, 5, "truecolor", at=(0.5, 0.5))
    assert with_magnifier(small, picture, (0.5, 0.5), "truecolor") is small
    coarse = draw_picture(picture[::8, ::8], 40, 10, "truecolor", at=(0.5, 0.5))
    assert with_magnifier(coarse, picture[::8, ::8], (0.5, 0.5), "truecolor") is coarse
