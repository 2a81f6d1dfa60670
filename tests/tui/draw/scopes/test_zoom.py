"""A part of the level scale, and the vectorscope about neutral, as text: where arithmetic puts them."""

import numpy as np
import pytest

from poise.correction import Interval, Matte
from poise.correction.model import HueInterval
from poise.scopes import Readings, Scale, instruments, measure, vectorscope
from poise.scopes.reel import figures
from poise_tui.desk import SCALES
from poise_tui.draw.panes.columns import columns
from poise_tui.draw.panes.reel import draw_reel
from poise_tui.draw.scopes.histogram import draw_histogram
from poise_tui.draw.scopes.traces import draw_parade, draw_vectorscope, draw_waveform, grain

BOTTOM, MIDDLE, TOP = (scale for _, scale in SCALES[1:])
ROWS = 15
"""The rows of one instrument alone at 80 x 24, without its title and the rows of what lies at the ends."""


def row_of_dots(level: float, scale: Scale) -> int:
    """The row of dots at which one level is drawn in braille."""
    grids = instruments(np.full((2, 2, 1), level, np.float32), 2, ROWS * grain(True).down, 9, fine=1, scale=scale)
    found = np.flatnonzero(grids.waveform.any(axis=1))
    return int(found[0]) if len(found) else -1


def test_a_ramp_of_five_per_cent_climbs_along_figures_of_one_per_cent() -> None:
    ramp = np.linspace(0, 0.05, 6, dtype=np.float32).reshape(1, 6, 1)
    scale = Scale(-0.01, 0.06)
    grids = instruments(ramp, 6, 7, 9, fine=1, scale=scale)
    assert draw_waveform(grids.waveform, unicode=False, scale=scale).lines() == [
        "  5 -    #",
        "  4 -   # ",
        "  3 -  #  ",
        "  2 - #   ",
        "  1 -#    ",
        "  0 # - - ",
        " -1 -     ",
    ]


def test_at_80_x_24_the_figures_are_two_per_cent_apart_and_one_per_cent_is_three_dots() -> None:
    blank = np.zeros((ROWS * 4, 8), np.int64)
    for scale, first, last in ((BOTTOM, 20, -2), (MIDDLE, 60, 40), (TOP, 102, 80)):
        shown = [int(line[:3]) for line in draw_waveform(blank, scale=scale).lines() if line[:3].strip()]
        assert shown == list(range(first, last - 1, -2))
        rows = [row_of_dots(level / 100, scale) for level in range(max(last, 0), first)]
        assert np.diff(rows).max() <= -2
        assert min(rows) >= 0


def test_what_lies_beyond_is_not_piled_up_at_the_edge() -> None:
    assert [row_of_dots(level, TOP) for level in (0.5, 1.3)] == [-1, -1]
    grids = instruments(np.array([[[0.1], [0.5], [0.9]]]), 3, 60, 9, fine=1, scale=MIDDLE)
    assert grids.waveform.sum(axis=0).tolist() == [0, 1, 0]
    assert grids.parade.sum() == 3
    assert grids.histogram.sum(axis=1).tolist() == [1, 1, 1, 1]
    lines = draw_histogram(grids.histogram.reshape(4, 15, 4).sum(axis=2), 14, unicode=False, scale=MIDDLE).lines()
    assert [line for line in lines if "#" in line] == [" 50 ##########"]


def test_parade_and_ghost_have_the_scale() -> None:
    shot, ghost = (np.zeros((3, 7, 2), np.int64) for _ in range(2))
    shot[:, 2], ghost[:, 4] = 9, 9
    assert draw_parade(shot, False, ghost, Scale(0.38, 0.45)).lines() == [
        " 44 -     - ",
        " 43 -     - ",
        " 42 ## ## ##",
        " 41 -     - ",
        " 40 ~~-~~ ~~",
        " 39 -     - ",
        " 38 -     - ",
    ]


def shot(level: float) -> Readings:
    return measure(np.full((4, 4, 3), level, np.float32))


def test_the_reel_has_the_scale_and_leaves_out_what_lies_beyond() -> None:
    rows = np.array([figures(shot(level)) for level in (0.9, 0.5, 0.96)])
    none = np.zeros(3, np.bool_)
    reel = columns(np.arange(3), rows, None, np.full(15, 95.0), none, none, 0, 1, 3)
    lines = draw_reel(reel, 1, 12, False, Scale(0.88, 0.98)).lines()
    assert lines == [
        "                    ",
        " 97 -     -         ",
        " 96 -     - RGB     ",
        " 95 -  =  -=   = 95 ",
        " 94 -     -         ",
        " 93 -     -         ",
        " 92 -     -         ",
        " 91 -     -         ",
        " 90 RGB - - - -     ",
        " 89 -     -         ",
        " 88 -     -         ",
        "    1   2   3       ",
    ]


@pytest.mark.parametrize("gain", [2, 4])
def test_the_vectorscope_grows_about_neutral(gain: int) -> None:
    """A grey and a colour 0.1 / gain right of it: at the middle, and a fifth of the half plane further out."""
    # from Y'CbCr of ITU-R BT.709: R' = Y' + 1.5748 Cr, B' = Y' + 1.8556 Cb
    cb = 0.1 / gain
    blue = np.array([0.5, 0.5 - (0.0722 * 1.8556 / 0.7152) * cb, 0.5 + 1.8556 * cb])
    picture = np.array([[[0.5] * 3, blue, [1, 0, 0]]])
    grid = vectorscope(picture, 40, gain=gain)
    assert {(int(row), int(column)) for row, column in np.argwhere(grid)} == {(20, 20), (20, 24)}
    assert int(grid.sum()) == 2  # pure red lies outside


def test_an_enlarged_vectorscope_has_a_ring_with_its_chroma() -> None:
    blank = np.zeros((32, 32), np.int64)
    for gain, figure in ((2, "10"), (4, "5")):
        lines = draw_vectorscope(blank, unicode=False, gain=gain).lines()
        assert lines[8] == f"         .      +     .{figure:<9}"
        # a fifth of 32 columns and of 16 rows about the middle: 9.6 to 22.4, and 4.8 to 11.2
        dots = [(row, column) for row, line in enumerate(lines) for column, glyph in enumerate(line) if glyph == "."]
        rows, columns_ = zip(*dots, strict=True)
        assert (min(rows), max(rows), min(columns_), max(columns_)) == (4, 11, 9, 22)
        assert not set("RGBCMY") & set("".join(lines))


def test_an_enlarged_sector_stays_on_its_colours() -> None:
    matte = Matte("sea", hue=HueInterval(0, 0), chroma=Interval(0.075, 0.1))
    cells = draw_vectorscope(np.zeros((64, 64), np.int64), False, matte=matte, at=(0.1, 0.0), gain=4)
    middle = cells.lines()[16]
    # 0.075 and 0.1 at x4 are 0.3 and 0.4 of a plane of 64 columns: 19.2 and 25.6 right of column 32
    assert (middle.index("o"), middle.index("x")) == (51, 57)
