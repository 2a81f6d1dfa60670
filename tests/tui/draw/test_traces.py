"""Small drawings, letter by letter: where a ramp and the coloured bars must fall by arithmetic."""

import numpy as np
import pytest

from poise.scopes import parade, split, vectorscope, waveform
from poise_tui.draw.braille import braille
from poise_tui.draw.capability import capability
from poise_tui.draw.cells import Ink, brightness
from poise_tui.draw.layout import Panel, flow
from poise_tui.draw.picture import draw_picture, fitted
from poise_tui.draw.printed import style
from poise_tui.draw.traces import (
    CHANNELS,
    draw_parade,
    draw_vectorscope,
    draw_waveform,
    letters,
    parade_grid,
    vectorscope_grid,
    waveform_grid,
)


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
    assert set(brightness(np.arange(100000)).tolist()) == {0, 1, 2, 3}


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
    assert all(not style(ink, 3, None) for ink in Ink)


def test_extreme_pictures_keep_a_cell() -> None:
    assert fitted(1, 5000, 40, 10) == (1, 10)
    assert fitted(5000, 1, 40, 10) == (40, 1)
    assert draw_picture(np.zeros((5000, 1, 3), np.float32), 40, 10, "truecolor").shape == (10, 1)
    assert draw_picture(np.zeros((1, 1, 1), np.float32), 4, 2, "256").shape == (2, 4)


def test_a_panel_that_does_not_fit_starts_a_new_band() -> None:
    assert len(flow([Panel(10, ([],)), Panel(10, ([],))], 21)) == 3
    assert len(flow([Panel(10, ([],)), Panel(10, ([],))], 22)) == 1
