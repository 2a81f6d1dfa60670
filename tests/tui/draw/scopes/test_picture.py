"""The picture's cursor: where it stands, what it leaves free, and that it is seen on every colour."""

from itertools import product

import numpy as np
import numpy.typing as npt
import pytest

from poise_tui.draw.pens import DEFAULT, TRUE
from poise_tui.draw.raster import REVERSE
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
