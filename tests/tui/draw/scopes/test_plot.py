"""The curve plot: small ones letter by letter, larger ones dot by dot against the interpolation that scipy gives."""

from typing import Any

import numpy as np
import numpy.typing as npt
import pytest
from scipy.interpolate import PchipInterpolator

from poise.correction.model import Curves, Point
from poise.scopes import split, waveform
from poise_tui.draw.braille import braille
from poise_tui.draw.cells import Cells, Ink
from poise_tui.draw.scopes.graticule import MARGIN
from poise_tui.draw.scopes.plot import Channel, draw_plot, plot_bins
from poise_tui.draw.scopes.traces import draw_waveform, waveform_grid

LIFTED: tuple[Point, ...] = ((0.0, 0.0), (0.5, 0.7), (1.0, 1.0))
AWAY = -0.9
"""A cursor beyond the scale, which covers nothing but one cell at the left edge."""


def dots(cells: Cells, ink: Ink) -> npt.NDArray[np.bool_]:
    """The braille dots in an ink, right of the figures and above those of the input: (rows * 4, columns * 2).

    Bits as in The Unicode Standard, Braille Patterns: dots 1 2 3 7 down the left, 4 5 6 8 down the right.
    """
    rows, columns = (slice(0, -1), slice(MARGIN, None)) if cells.lines()[-1].strip() else (slice(None), slice(None))
    codes = cells.glyphs[rows, columns].copy().view(np.uint32).astype(np.int64) - 0x2800
    codes[(cells.inks[rows, columns] != ink) | (codes < 0)] = 0
    bits = np.array([[0, 3], [1, 4], [2, 5], [6, 7]])
    high, wide = codes.shape
    grid = (codes[:, None, :, None] >> bits[None, :, None, :]) & 1
    lit: npt.NDArray[np.bool_] = grid.reshape(high * 4, wide * 2).astype(np.bool_)
    return lit


def place(cells: Cells, glyph: str) -> list[tuple[int, int]]:
    """Rows and columns of a mark, right of the figures."""
    return [(int(row), int(column) - MARGIN) for row, column in np.argwhere(cells.glyphs == glyph)]


def test_the_untouched_curve_runs_from_corner_to_corner() -> None:
    # 11 rows of 10 % and 22 columns of 5 %: two columns to a row
    assert draw_plot(Curves(), "master", 0.5, None, 26, 12, unicode=False).lines() == [
        "100 - - - - - -|- - - - #o",
        "                      ##  ",
        " 75 - - - - - -|- - ##- - ",
        "                  ##      ",
        "               |##        ",
        " 50 - - - - - #+- - - - - ",
        "            ## |          ",
        " 25 - - - ##- - - - - - - ",
        "        ##     |          ",
        "      ##                  ",
        "  0 #o- - - - -|- - - - - ",
        "     0   25   50   75  100",
    ]


def test_a_curve_stands_over_its_histogram_and_the_diagonal() -> None:
    # bars by the square root, up to 5 of 11 rows: 1 of 16 is 1.25 rows, 4 are 2.5, 9 are 3.75, and a half is even
    counts = np.zeros(22, np.int64)
    counts[[4, 5, 6, 7, 16]] = 1, 4, 16, 9, 16
    assert draw_plot(Curves(master=LIFTED), "master", 0.5, counts, 26, 12, unicode=False).lines() == [
        "100 - - - - - -|- - - ###o",
        "                   ###.   ",
        " 75 - - - - - -|### . - - ",
        "              #@  .       ",
        "            ## |.         ",
        " 50 - - - -#- . - - - - - ",
        "         ## .  |    :     ",
        " 25 - - # .:- - - - : - - ",
        "       #. ::   |    :     ",
        "      #  :::        :     ",
        "  0 #o- ::::- -|- - : - - ",
        "     0   25   50   75  100",
    ]


def test_other_curves_stand_behind_the_one_in_hand() -> None:
    assert draw_plot(Curves(master=LIFTED), "red", 0.25, None, 26, 12, unicode=False).lines() == [
        "100 - - - | - - - - - mm#o",
        "                   mmm##  ",
        " 75 - - - | - - mmm ##- - ",
        "              mm  ##      ",
        "          | mm  ##        ",
        " 50 - - - -m- ##- - - - - ",
        "         mm ##            ",
        " 25 - - m +#- - - - - - - ",
        "       m##|               ",
        "      ##                  ",
        "  0 #o- - | - - - - - - - ",
        "     0   25   50   75  100",
    ]


def test_in_braille_the_line_is_full_the_diagonal_dotted_and_the_histogram_a_chequerboard() -> None:
    counts = np.zeros(44, np.int64)
    counts[[8, 9, 10, 11, 12, 13, 32]] = 1, 4, 16, 16, 9, 4, 16
    assert draw_plot(Curves(master=LIFTED), "master", 0.5, counts, 26, 7).lines() == [
        "100 ⠂ ⠂ ⠂ ⠂ ⠂ ⠂⠅⠂ ⠂⢀⡠⠤⠔⠒⠒o",
        " 75 ⠄ ⠄ ⠄ ⠄ ⠄ ⢀@⠤⠒⠉⠁⠄ ⠁ ⠄ ",
        " 50 ⡀ ⡀ ⡀ ⡀⢀⠤⠊⠁⠅⠄ ⠁ ⡀ ⡀ ⡀ ",
        "         ⡠⠊⠁⠄ ⠁⠅    ⡃     ",
        " 25 ⠂ ⢀⠔⠉⡪⠂ ⠂ ⠂⠅⠂ ⠂ ⡂ ⠂ ⠂ ",
        "  0 ⢀o⠁ ⡪⡪⡪ ⠄ ⠄⠅⠄ ⠄ ⡂ ⠄ ⠄ ",
        "     0   25   50   75  100",
    ]


@pytest.mark.parametrize(("columns", "rows"), [(60, 20), (50, 16), (97, 41)])
@pytest.mark.parametrize(
    "points", [LIFTED, ((0.0, 0.1), (0.3, 0.2), (0.35, 0.6), (1.0, 0.9)), ((-0.5, -0.3), (0.2, 0.1), (1.5, 1.2))]
)
def test_dots_lie_where_scipy_puts_the_curve(points: tuple[Point, ...], columns: int, rows: int) -> None:
    # scipy.interpolate.PchipInterpolator between the ends; beyond them a straight line with the slope there
    cells = draw_plot(Curves(green=points), "green", AWAY, None, columns, rows)
    drawn = dots(cells, Ink.GREEN)
    height, width = drawn.shape
    assert (height, width) == ((rows - 1) * 4, (columns - MARGIN) * 2)
    x, y = np.array(points).T
    inner = PchipInterpolator(x, y)
    marked = {column for glyph in "o+<>" for _, column in place(cells, glyph)}
    checked = 0
    for column in range(width):
        level = -0.05 + 1.1 * (column + 0.5) / width
        held = np.clip(level, x[0], x[-1])
        output = float(inner(held) + inner.derivative()(held) * (level - held))
        if column // 2 in marked or not -0.05 < output < 1.05:
            continue
        checked += 1
        assert drawn[int((1.05 - output) / 1.1 * height), column]
    assert checked > width * 0.8


def _random(seed: int) -> tuple[Point, ...]:
    """Six points, some of them almost above each other, that may leave the scale."""
    rng = np.random.default_rng(seed)
    x, y = np.sort(rng.uniform(-0.1, 1.1, 6)), np.sort(rng.uniform(-0.3, 1.3, 6))
    x[3] = min(x[2] + 0.001, x[3])
    return tuple(zip(x.tolist(), y.tolist(), strict=True))


@pytest.mark.parametrize("seed", range(12))
def test_dots_of_neighbouring_columns_touch(seed: int) -> None:
    cells = draw_plot(Curves(blue=_random(seed)), "blue", AWAY, None, 60, 20)
    drawn = dots(cells, Ink.BLUE)
    marked = {column for glyph in "o+<>^v" for _, column in place(cells, glyph)}
    before: npt.NDArray[Any] | None = None
    for column in range(drawn.shape[1]):
        lit = np.nonzero(drawn[:, column])[0]
        if column // 2 in marked or not len(lit):
            before = None
            continue
        assert np.diff(lit).tolist() == [1] * (len(lit) - 1)
        if before is not None:
            assert before.min() >= lit.max()  # it climbs
            assert before.min() - lit.max() <= 1
        before = lit


def test_a_cliff_is_drawn_from_the_bottom_to_the_top() -> None:
    cliff = ((0.5, -0.5), (0.501, 1.5))
    assert dots(draw_plot(Curves(red=cliff), "red", AWAY, None, 60, 20), Ink.RED)[4:-4].any(axis=1).all()
    plain = draw_plot(Curves(red=cliff), "red", AWAY, None, 60, 20, unicode=False)
    assert (plain.glyphs[1:-2] == "#").any(axis=1).all()


def test_a_curve_that_leaves_the_scale_is_not_drawn_along_its_edge() -> None:
    drawn = dots(draw_plot(Curves(red=((0.0, 0.0), (0.5, 1.0))), "red", AWAY, None, 60, 20), Ink.RED)
    # twice as steep as the diagonal: it passes 105 % at 52.5 %
    last = int(np.nonzero(drawn.any(axis=0))[0].max())
    assert last == int((0.525 + 0.05) / 1.1 * drawn.shape[1])


@pytest.mark.parametrize("unicode", [True, False])
def test_points_stand_at_their_levels_and_the_chosen_one_at_the_cursor(unicode: bool) -> None:
    cells = draw_plot(Curves(master=((0.0, 0.02), (0.32, 0.47), (1.0, 0.93))), "master", 0.32, None, 48, 12, unicode)
    # 11 rows of 10 % from 105 % down, 44 columns of 2.5 % from -5 % on
    assert place(cells, "@") == [(5, 14)]
    assert place(cells, "o") == [(1, 42), (10, 2)]
    assert not place(cells, "+")
    assert cells.inks[5, 14 + MARGIN] == Ink.CHOSEN
    assert cells.inks[1, 42 + MARGIN] == Ink.MARK
    column = cells.glyphs[:11, 14 + MARGIN]
    if unicode:  # 32 % lies in the right half of its cell: dots 4 and 6
        assert set(column.tolist()) == {"\u2828", "@"}
    else:  # with a dot of the diagonal at 30 %
        assert "".join(column.tolist()) == "| | |@|.| |"
    assert set(cells.inks[[0, 4, 10], 14 + MARGIN].tolist()) == {Ink.GRATICULE}


def test_without_a_point_the_cursor_is_on_the_curve() -> None:
    cells = draw_plot(Curves(master=LIFTED), "master", 0.25, None, 48, 12)
    at = float(PchipInterpolator([0, 0.5, 1], [0, 0.7, 1])(0.25))
    assert place(cells, "+") == [(int((1.05 - at) / 0.1), 12)]
    assert cells.inks[place(cells, "+")[0][0], 12 + MARGIN] == Ink.CHOSEN
    assert not place(cells, "@")


def test_what_is_beyond_the_scale_stands_at_its_edge() -> None:
    points = ((-1.0, -0.4), (0.1, -0.2), (0.5, 0.5), (0.8, 1.3), (3.0, 3.9))
    cells = draw_plot(Curves(green=points), "green", 3.0, None, 48, 12)
    assert place(cells, "<") == [(10, 0)]
    assert place(cells, "v") == [(10, 6)]
    assert place(cells, "o") == [(5, 22)]
    assert place(cells, "^") == [(0, 34)]
    assert place(cells, ">") == [(0, 43)]
    assert cells.inks[0, 43 + MARGIN] == Ink.CHOSEN
    assert not {"\u2805", "\u2828"} & set(cells.glyphs[:, -1].tolist())  # no cursor line where the cursor is not
    assert place(draw_plot(Curves(green=points), "green", 2.0, None, 48, 12), "+") == [(0, 43)]


@pytest.mark.parametrize(
    ("channel", "ink"), [("red", Ink.RED), ("green", Ink.GREEN), ("blue", Ink.BLUE), ("master", Ink.LUMA)]
)
def test_the_channel_in_hand_is_bright_and_full_the_others_are_faint_and_dotted(channel: Channel, ink: Ink) -> None:
    bent = Curves(
        red=LIFTED, green=((0.0, 0.1), (1.0, 0.8)), blue=((0.0, 0.0), (0.5, 0.2), (1.0, 1.0)), master=((0, 0.2), (1, 1))
    )
    cells = draw_plot(bent, channel, AWAY, None, 60, 20)
    for other in (Ink.RED, Ink.GREEN, Ink.BLUE, Ink.LUMA):
        assert set(cells.steps[cells.inks == other].tolist()) == {3 if other == ink else 0}
        across = dots(cells, other).any(axis=0).mean()
        assert across > 0.8 if other == ink else 0.2 < across < 0.6


def test_straight_curves_that_are_not_in_hand_are_left_out() -> None:
    straight = Curves(red=((0.0, 0.0), (0.4, 0.4), (1.0, 1.0)))
    inks = set(draw_plot(straight, "green", 0.5, None, 60, 20).inks.ravel().tolist())
    assert inks == {Ink.NONE, Ink.GRATICULE, Ink.FAINT, Ink.MARK, Ink.CHOSEN, Ink.GREEN}


def test_bars_grow_by_the_square_root_to_half_of_the_height() -> None:
    counts = np.zeros(plot_bins(64), np.int64)
    counts[[60, 80, 100]] = 1, 250_000, 1_000_000
    lit = dots(draw_plot(Curves(red=((0.0, 0.9), (1.0, 1.0))), "red", AWAY, counts, 64, 21), Ink.LUMA)
    heights = [80 - int(np.nonzero(lit[:, column])[0].min()) for column in (60, 80, 100)]
    assert heights == [1, 20, 40]
    assert not lit[:, [59, 61, 81, 101]].any()


@pytest.mark.parametrize("unicode", [True, False])
@pytest.mark.parametrize("columns", [1, 5, 11, 12, 13, 50])
def test_a_bin_goes_to_each_column_of_dots_and_other_numbers_are_stretched(columns: int, unicode: bool) -> None:
    bins = plot_bins(columns, unicode)
    assert bins == (columns - (MARGIN if columns >= 12 else 0)) * (2 if unicode else 1)
    counts = np.arange(bins)
    drawn = draw_plot(Curves(), "red", 0.5, counts, columns, 12, unicode)
    doubled = draw_plot(Curves(), "red", 0.5, np.repeat(counts, 2), columns, 12, unicode)
    assert doubled.lines() == drawn.lines()
    assert draw_plot(Curves(), "red", 0.5, np.zeros(bins), columns, 12, unicode).lines() == (
        draw_plot(Curves(), "red", 0.5, None, columns, 12, unicode).lines()
    )


def test_levels_stand_on_the_rows_of_the_waveform() -> None:
    ramp = split(np.linspace(0, 1, 11, dtype=np.float32).reshape(1, 11, 1))
    scope = draw_waveform(waveform(ramp, *waveform_grid(50, 15)))
    assert [line[:MARGIN] for line in draw_plot(Curves(), "red", 0.5, None, 50, 16).lines()[:-1]] == [
        line[:MARGIN] for line in scope.lines()
    ]


def test_figures_of_the_input_never_touch() -> None:
    lines = {columns: draw_plot(Curves(), "red", 0.5, None, columns, 8).lines()[-1] for columns in range(12, 120)}
    assert [lines[columns] for columns in (12, 13, 18, 26)] == [
        "    0    100",
        "    0  50 100",
        "    0 25  50   100",
        "     0   25   50   75  100",
    ]
    for columns, line in lines.items():
        figures = [int(figure) for figure in line.split()]
        assert figures == sorted(figures)
        assert {0, 100} <= set(figures) <= {0, 25, 50, 75, 100}
        if columns > 12:  # 50 % is the middle of the plot
            assert line.index("50") + 1 == MARGIN + (columns - MARGIN) // 2


@pytest.mark.parametrize("unicode", [True, False])
@pytest.mark.parametrize("counts", [None, np.arange(7)])
def test_it_fits_at_every_size(unicode: bool, counts: npt.NDArray[Any] | None) -> None:
    bent = Curves(red=LIFTED, master=((-0.5, -0.5), (0.3, 0.6), (2.0, 3.0)))
    for rows in range(6):
        for columns in range(20):
            for at in (AWAY, 0.3, 0.5, 2.0):
                cells = draw_plot(bent, "master", at, counts, columns, rows, unicode)
                assert cells.shape == cells.inks.shape == cells.steps.shape == (rows, columns)
                assert not (rows < 4 or columns < 12) or not any(map(str.isdigit, "".join(cells.lines())))


def test_the_smallest_plots_letter_by_letter() -> None:
    small = [(columns, rows) for columns in (1, 3, 5) for rows in (1, 3)]
    assert [draw_plot(Curves(), "red", 1.0, None, *size, unicode=False).lines() for size in small] == [
        ["@"],
        ["@", "#", "o"],
        ["o#@"],
        ["- @", "-#-", "o |"],
        ["o###@"],
        ["- -#@", "- # -", "o#- |"],
    ]


def test_two_hundred_points_are_all_there() -> None:
    points = tuple((index / 199, (index / 199) ** 2) for index in range(200))
    cells = draw_plot(Curves(red=points), "red", points[100][0], None, 60, 20)
    rows, columns = 19, 56
    expected = {
        (int((1.05 - y) / 1.1 * rows * 4 + 1e-9) // 4, int((x + 0.05) / 1.1 * columns * 2) // 2) for x, y in points
    }
    assert set(place(cells, "o")) | set(place(cells, "@")) == expected
    assert len(place(cells, "@")) == 1


def test_a_later_drawing_leaves_an_earlier_one_alone() -> None:
    first = draw_plot(Curves(red=LIFTED), "red", 0.5, None, 50, 16)
    kept = first.lines()
    draw_plot(Curves(red=LIFTED), "red", 0.2, np.ones(92), 50, 16)
    assert first.lines() == kept == draw_plot(Curves(red=LIFTED), "red", 0.5, None, 50, 16).lines()
    first.glyphs[...] = braille(np.ones((4, 2))).lines()[0]
    assert draw_plot(Curves(red=LIFTED), "red", 0.5, None, 50, 16).lines() == kept


def test_without_colours_the_curve_stands_free_of_its_histogram() -> None:
    flat = np.full(44, 9)
    low: tuple[Point, ...] = ((0.0, 0.0), (1.0, 0.5))
    cells = draw_plot(Curves(red=low), "red", AWAY, flat, 26, 7, colourless=True)
    curve = dots(cells, Ink.RED)
    bars = dots(cells, Ink.LUMA)
    assert bars.any()
    for row, column in np.argwhere(curve):
        assert not bars[max(row - 4, 0) : row + 5, column].any()
    assert (curve == dots(draw_plot(Curves(red=low), "red", AWAY, flat, 26, 7), Ink.RED)).all()
