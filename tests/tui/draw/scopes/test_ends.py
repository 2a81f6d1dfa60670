"""The rows at both ends as text: where bars stand, how high they are, and the shares beside them."""

import numpy as np

from poise.scopes import instruments
from poise_tui.draw.cells import Cells, Ink
from poise_tui.draw.palette import THEMES, palette
from poise_tui.draw.scopes.ends import share, with_ends
from poise_tui.draw.scopes.graticule import graticule
from poise_tui.draw.scopes.traces import draw_parade, draw_waveform

# twenty columns of ten pixels: one white, three pixels of the next, one of the third; the right quarter is half black
PICTURE = np.full((10, 20, 1), 0.5, np.float32)
PICTURE[:, 0] = 1
PICTURE[:3, 1] = 1
PICTURE[0, 2] = 1.3
PICTURE[5:, 15:] = 0


def test_bars_stand_where_the_picture_reaches_the_ends_with_the_share() -> None:
    grids = instruments(PICTURE, 20, 5, 9, fine=1)
    drawn = with_ends(draw_waveform(grids.waveform, False), grids.luma_ends, grids.pixels, ((7.0, 12.5),), False)
    assert drawn.lines() == [
        " >= #*:             7.0%",
        "100 #*: - - - - - - - - ",
        " 75 - - - - - - - - - - ",
        " 50 -##############*****",
        " 25 - - - - - - - - - - ",
        "  0 - - - - - - - -*****",
        " <= 12%            *****",
    ]
    assert drawn.inks[0, 4:7].tolist() == [Ink.ENDS] * 3
    assert drawn.inks[6, -1] == Ink.ENDS


def test_in_braille_bars_stand_away_from_the_trace() -> None:
    grids = instruments(PICTURE, 20, 20, 9, fine=1)
    lines = with_ends(draw_waveform(grids.waveform), grids.luma_ends, grids.pixels, ((7.0, 12.5),)).lines()
    # four dots up for a whole column, three for three of ten; two for one of ten; three down for a half
    assert lines[0] == "  ≥ ⣷⡄    7.0%"
    assert lines[-1] == "  ≤ 12%    ⠸⠿⠿"


def test_each_channel_of_the_parade_has_its_own() -> None:
    picture = np.full((4, 12, 3), 0.5, np.float32)
    picture[:, :6, 0], picture[:, 6:, 2] = 1, 0
    grids = instruments(picture, 12, 5, 9, fine=1, parade_columns=12)
    shares = ((50.0, 0.0), (0.0, 0.0), (0.0, 50.0))
    lines = with_ends(draw_parade(grids.parade, False), grids.colour_ends, grids.pixels, shares, False).lines()
    assert lines[0] == " >= ######   50%                          "
    assert lines[-1] == " <=                           50%   ######"


def test_without_counts_there_are_shares_alone() -> None:
    lines = with_ends(Cells.blank(3, 19), None, 9, ((0.02, 0), (0, 3), (100, 0), (9.96, 0)), False).lines()
    assert lines == [" >= <.1     100  10", *[" " * 19] * 3, " <=     3.0        "]
    assert [share(value) for value in (0, 0.049, 0.05, 9.94, 9.96)] == ["", "<.1", "0.1", "9.9", "10"]


def test_limits_are_marked_beside_the_figures() -> None:
    cells = graticule(Cells.blank(11, 4), False, limits=(-5, 5, 90, 102))
    # rows are 10 % high: 102 is in the first, 90 on the edge of two, of which the upper one holds it
    assert "".join(line[3] for line in cells.lines()) == ">>       >>"
    assert set(cells.inks[:, 3][cells.glyphs[:, 3] == ">"].tolist()) == {Ink.MARK}
    assert "\u25b8" in "".join(graticule(Cells.blank(11, 4), limits=(5,)).lines())


def test_the_ends_differ_from_every_trace_in_every_palette() -> None:
    for theme in THEMES:
        for colours in ("truecolor", "256", "standard"):
            fore = palette(theme, colours).fore
            traces = {int(pen) for ink in (Ink.LUMA, Ink.RED, Ink.GREEN, Ink.BLUE, Ink.GHOST) for pen in fore[ink]}
            assert int(fore[Ink.ENDS, 0]) not in traces
