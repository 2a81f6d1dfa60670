"""Small drawings, letter by letter: where a ramp and the coloured bars must fall by arithmetic."""

import numpy as np
import numpy.typing as npt
import pytest

from poise.correction import Interval, Matte
from poise.correction.model import HueInterval
from poise.scopes import SKIN_ANGLE, parade, split, vectorscope, waveform
from poise_tui.draw.braille import braille
from poise_tui.draw.capability import capability
from poise_tui.draw.cells import Ink, brightness
from poise_tui.draw.palette import THEMES, palette
from poise_tui.draw.scopes.picture import draw_picture, fitted
from poise_tui.draw.scopes.sector import outline
from poise_tui.draw.scopes.traces import (
    CHANNELS,
    draw_parade,
    draw_vectorscope,
    draw_waveform,
    letters,
    parade_grid,
    vectorscope_grid,
    waveform_grid,
)
from poise_tui.printing.layout import Panel, flow
from poise_tui.printing.segments import style


def test_braille_dots_are_numbered_as_in_the_unicode_standard() -> None:
    # The Unicode Standard, Braille Patterns: "dots-1" is U+2801, "dots-8" is U+2880, "dots-7" is U+2840.
    for cell, code in (((0, 0), 0x2801), ((3, 1), 0x2880), ((3, 0), 0x2840), ((0, 1), 0x2808)):
        grid = np.zeros((4, 2), np.int64)
        grid[cell] = 1
        assert braille(grid).lines() == [chr(code)]


def test_waveform_of_a_ramp_climbs_along_its_figures() -> None:
    # Rows are 10 % high; 75 and 25 lie on the edge of two, and an edge belongs to the upper row.
    ramp = np.linspace(0, 1, 11, dtype=np.float32).reshape(1, 11, 1)
    assert draw_waveform(waveform(split(ramp), *waveform_grid(15, 11, False)), unicode=False).lines() == [
        "100 - - - - - #",
        "             # ",
        " 75 - - - - # -",
        "           #   ",
        "          #    ",
        " 50 - - -#- - -",
        "        #      ",
        " 25 - -#- - - -",
        "      #        ",
        "     #         ",
        "  0 # - - - - -",
    ]


def test_parade_stands_in_the_order_red_green_blue() -> None:
    red = np.broadcast_to(np.array([1, 0.5, 0], np.float32), (2, 3, 3))
    lines = draw_parade(parade(split(red), *parade_grid(15, 11, False)), unicode=False).lines()
    assert letters(CHANNELS, 15) == ((6, "R", Ink.RED), (10, "G", Ink.GREEN), (14, "B", Ink.BLUE))
    assert lines[0].startswith("100 ###")
    assert lines[5][8:11] == "###"
    assert lines[10][12:15] == "###"


@pytest.mark.parametrize("unicode", [True, False])
def test_vectorscope_targets_stand_where_bt709_puts_them(unicode: bool) -> None:
    # ITU-R BT.709: Cr of red is the largest (0.5 at full), Cb of blue likewise; yellow is opposite blue.
    grey = split(np.full((2, 2, 1), 0.5, np.float32))
    cells = draw_vectorscope(vectorscope(grey, vectorscope_grid(16, unicode)), unicode)
    lines = cells.lines()
    crosses = {(int(row), int(column)) for row, column in zip(*np.nonzero(cells.inks == Ink.MARK), strict=True)}
    crosses = {place for place in crosses if cells.glyphs[place] == "+"}
    assert len(crosses) == 6
    assert (2, int((0.5 - 0.1146 * 0.75) * 32)) in crosses
    assert {int((0.5 + 0.5 * 0.75) * 32), int((0.5 - 0.5 * 0.75) * 32)} <= {column for _, column in crosses}
    # each letter stands further out than its cross, so that it hides no bar
    place = {
        letter: (row, line.index(letter)) for row, line in enumerate(lines) for letter in "RYGCBM" if letter in line
    }
    assert len(place) == 6
    assert place["R"][0] < 2
    assert place["B"][1] > int((0.5 + 0.5 * 0.75) * 32)
    assert place["Y"][1] < int((0.5 - 0.5 * 0.75) * 32)


def test_brightness_has_few_steps_and_survives_nothing() -> None:
    assert brightness(np.zeros((2, 2), np.int64)).max() == 0
    assert set(brightness(np.arange(100) ** 4).tolist()) == {0, 1, 2, 3}


@pytest.mark.parametrize(
    ("environ", "terminal", "colours", "unicode"),
    [
        ({"TERM": "xterm", "LANG": "en_GB.UTF-8"}, True, "standard", True),
        ({"TERM": "tmux-256color", "LANG": "C.UTF-8"}, True, "256", True),
        ({"TERM": "xterm", "COLORTERM": "truecolor", "LC_ALL": "C", "LANG": "C.UTF-8"}, True, "truecolor", False),
        ({"TERM": "dumb", "LANG": "C.UTF-8"}, True, None, False),
        ({"TERM": "xterm", "NO_COLOR": "1", "LANG": "C.UTF-8"}, True, None, True),
        ({"TERM": "xterm", "LANG": "C.UTF-8"}, False, None, True),
    ],
)
def test_capability(environ: dict[str, str], terminal: bool, colours: str | None, unicode: bool) -> None:
    found = capability(environ, terminal, (80, 24), "utf-8")
    assert (found.colours, found.unicode) == (colours, unicode)
    assert found.width == (80 if terminal else 100)


def test_without_colours_no_ink_has_a_style() -> None:
    assert all(not style(ink, None) for ink in Ink)


def test_extreme_pictures_keep_a_cell() -> None:
    assert fitted(1, 5000, 40, 10) == (1, 10)
    assert fitted(5000, 1, 40, 10) == (40, 1)
    assert draw_picture(np.zeros((5000, 1, 3), np.float32), 40, 10, "truecolor").shape == (10, 1)
    assert draw_picture(np.zeros((1, 1, 1), np.float32), 4, 2, "256").shape == (2, 4)


def test_a_panel_that_does_not_fit_starts_a_new_band() -> None:
    assert len(flow([Panel(10, ([],)), Panel(10, ([],))], 21)) == 3
    assert len(flow([Panel(10, ([],)), Panel(10, ([],))], 22)) == 1


def dotted(size: int, *cells: tuple[int, int]) -> npt.NDArray[np.int64]:
    grid = np.zeros((size, size), np.int64)
    for cell in cells:
        grid[cell] = 1
    return grid


def test_what_a_matte_takes_stands_out_from_the_rest() -> None:
    counts = np.zeros((16, 16), np.int64)
    counts[4:8, 4:8] = 9
    keyed = dotted(16, (4, 4), (5, 4), (6, 4), (7, 4))
    cells = draw_vectorscope(counts, keyed=keyed)
    assert cells.lines()[1][2:4] == "\u2847\u2895"  # the keyed dots as they are, of the others every second one
    assert cells.inks[1, 2:4].tolist() == [Ink.GREEN, Ink.LUMA]
    assert cells.steps[1, 3] < draw_vectorscope(counts).steps[1, 3]
    assert draw_vectorscope(counts).lines()[1][2:4] == "\u28ff\u28ff"
    lone = draw_vectorscope(dotted(16, (4, 5)), keyed=np.zeros((16, 16), np.int64))
    assert lone.lines()[1][2] == "\u2808"  # one that thinning would lose


def test_in_plain_characters_the_rest_is_dots() -> None:
    counts = np.full((16, 16), 100)
    cells = draw_vectorscope(counts, unicode=False, keyed=dotted(16, (4, 4), (4, 5), (4, 6)))
    assert (cells.lines()[2][3:8], cells.lines()[5][1:7]) == (".###.", "......")
    faint = dotted(16, (4, 4)) + 1000 * dotted(16, (4, 5))
    assert draw_vectorscope(faint, unicode=False, keyed=faint).lines()[2][4:6] == ":#"


def test_keyed_differs_from_the_rest_in_every_palette() -> None:
    for theme in THEMES:
        for colours in ("truecolor", "256", "standard"):
            fore = palette(theme, colours).fore
            rest = {int(fore[Ink.LUMA, step]) for step in range(2)}
            assert not rest & ({int(pen) for pen in fore[Ink.GREEN]} | {int(fore[Ink.MARK, 0])})


def test_the_sector_lies_along_both_hues_and_both_chromas() -> None:
    # angles and distances as the vectorscope defines them, computed by complex numbers: Cb + i Cr
    points = outline(HueInterval(20, 80), Interval(0.1, 0.4), 64)
    plane = points[:, 0] + 1j * points[:, 1]
    reach, turn = np.abs(plane), np.degrees(np.angle(plane))
    on_arc = np.isclose(reach, 0.1) | np.isclose(reach, 0.4)
    on_line = np.isclose(turn, 20) | np.isclose(turn, 80)
    assert (on_arc | on_line).all()
    assert (on_arc & on_line).any()
    assert reach.min() == pytest.approx(0.1)
    assert reach.max() == pytest.approx(0.4)
    assert turn.min() == pytest.approx(20)
    assert turn.max() == pytest.approx(80)
    # no gap on either arc is wider than two cells
    for ring in (0.1, 0.4):
        along = np.sort(turn[np.isclose(reach, ring)])
        assert (along[0], along[-1]) == (pytest.approx(20), pytest.approx(80))
        assert np.radians(np.diff(along)).max() * ring * 64 <= 2 + 1e-9
    # as long as it is, at a dot every two cells: two lines of 0.3, and 60 degrees of circles of 0.1 and 0.4
    length = 64 * (2 * 0.3 + np.pi / 3 * (0.1 + 0.4))
    assert len(points) == pytest.approx(length / 2 + 4, abs=4)


def test_a_sector_past_360_is_the_narrow_one() -> None:
    points = outline(HueInterval(350, 20), Interval(0.2, 0.3), 64)
    turn = np.degrees(np.angle(points[:, 0] + 1j * points[:, 1]))
    assert (turn.min(), turn.max()) == (pytest.approx(-10), pytest.approx(20))


def test_the_full_circle_has_rings_alone() -> None:
    points = outline(HueInterval(), Interval(0.2, 0.3), 64)
    reach = np.hypot(*points.T)
    assert {round(float(one), 9) for one in reach} == {0.2, 0.3}
    assert len(outline(HueInterval(), Interval(0.2, 1), 64)) < len(points)
    assert not len(outline(HueInterval(), Interval(), 64))
    assert not len(outline(HueInterval(10, 20), Interval(0.3, 0.2), 64))


def test_a_sector_is_cut_at_the_edge() -> None:
    points = outline(HueInterval(30, 60), Interval(0.3, 1), 64)
    assert np.abs(points).max() <= 0.5
    assert np.hypot(*points.T).max() > 0.5  # towards a corner there is more room
    assert (np.hypot(*outline(HueInterval(0, 90), Interval(0.6, 1), 64).T) >= 0.6 - 1e-9).all()


def test_the_outline_leaves_the_trace_legible() -> None:
    # six dots along +Cb, in row 16 of 32: 0.10 0.16 0.22 0.28 0.34 0.40 fall in columns 19 21 23 24 26 28
    matte = Matte("sea", hue=HueInterval(0, 0), chroma=Interval(0.1, 0.4))
    cells = draw_vectorscope(dotted(32, (19, 24), (19, 25)), matte=matte)
    # U+2808 is the upper right dot, U+2801 the upper left one, U+28C1 that and the two of the trace below it
    assert cells.lines()[4][8:] == "+\u2808\u2808\u2808\u28c1\u2801+B"
    assert set(cells.inks[4, 9:14].tolist()) == {Ink.MARK}
    cells = draw_vectorscope(dotted(32, (16, 24), (16, 25)), unicode=False, matte=matte)
    assert cells.lines()[8][16:] == "+  o o o##o + B "
    assert cells.inks[8, 23:27].tolist() == [Ink.MARK, Ink.MARK, Ink.LUMA, Ink.MARK]


def test_the_outline_goes_before_the_skin_line() -> None:
    empty = np.zeros((64, 64), np.int64)
    skin = Matte("face", hue=HueInterval(SKIN_ANGLE, SKIN_ANGLE))
    assert (draw_vectorscope(empty).inks == Ink.SKIN).sum() > 5
    assert (draw_vectorscope(empty, matte=skin).inks == Ink.SKIN).sum() <= 1


@pytest.mark.parametrize("unicode", [True, False])
def test_the_colour_under_the_cursor_is_marked(unicode: bool) -> None:
    counts = np.ones((32, 32), np.int64)
    cells = draw_vectorscope(counts, unicode, at=(0.25, -0.25))
    row, column = np.argwhere(cells.glyphs == "x")[0].tolist()
    rows, columns = cells.shape
    assert (row / rows, column / columns) == (0.75, 0.75)
    assert cells.inks[row, column] == Ink.MARK
    assert "x" not in "".join(draw_vectorscope(counts, unicode, at=(np.nan, 0.1)).lines())
    assert draw_vectorscope(counts, unicode, at=(3.0, 3.0)).lines()[0][-1] == "x"


@pytest.mark.parametrize("unicode", [True, False])
def test_the_smallest_vectorscope_takes_everything(unicode: bool) -> None:
    size = vectorscope_grid(1, unicode)
    counts = np.ones((size, size), np.int64)
    matte = Matte("sea", hue=HueInterval(20, 90), chroma=Interval(0.1, 0.3))
    assert draw_vectorscope(counts, unicode, counts, matte, (0.0, 0.0)).shape == (1, 2)
