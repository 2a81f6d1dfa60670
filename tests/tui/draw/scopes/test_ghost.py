"""The ghost as text: behind a trace, its edges over it, in braille and in plain characters."""

import numpy as np

from poise_tui.draw.cells import Ink
from poise_tui.draw.scopes.ghost import edges, lay_ghost
from poise_tui.draw.scopes.traces import draw_waveform, trace


def test_edges_leave_out_what_black_and_white_leave_out() -> None:
    column = np.array([[1], [600], [600], [1]])
    assert edges(column).T.tolist() == [[0, 1, 1, 0]]
    assert edges(np.zeros((3, 2), np.int64)).sum() == 0


def test_a_ghost_lies_behind_in_plain_characters_and_its_edges_over() -> None:
    shot, ghost = np.zeros((6, 4), np.int64), np.zeros((6, 4), np.int64)
    shot[2:5, 0:2] = 9
    ghost[1:6, 1:3] = 9
    cells = trace(shot, Ink.LUMA, False)
    lay_ghost(cells, ghost, False)
    assert cells.lines() == [
        "    ",
        " ~~ ",
        "##, ",
        "##, ",
        "##, ",
        " ~~ ",
    ]
    assert cells.inks[1].tolist() == [Ink.NONE, Ink.GHOST, Ink.GHOST, Ink.NONE]
    assert cells.inks[2].tolist() == [Ink.LUMA, Ink.LUMA, Ink.GHOST, Ink.NONE]


def test_in_braille_it_is_thinner_and_a_crossing_keeps_the_dots_of_both() -> None:
    shot, ghost = np.zeros((8, 4), np.int64), np.zeros((8, 4), np.int64)
    shot[:, :2] = 1
    ghost[:, :] = 1
    cells = trace(shot, Ink.LUMA, True, solid=True)
    lay_ghost(cells, ghost, True)
    full, thin, top, bottom = "\u28ff", "\u2821", 0x2801 | 0x2808, 0x2840 | 0x2880
    assert cells.lines() == [full + chr(ord(thin) | top), full + chr(ord(thin) | bottom)]
    assert (cells.inks == Ink.GHOST).all()  # the edges of both columns cross every cell
    apart = np.zeros((8, 2), np.int64)
    apart[0] = 1
    bare = trace(np.zeros((8, 2), np.int64), Ink.LUMA, True)
    lay_ghost(bare, apart, True)
    assert bare.lines() == [chr(0x2809), " "]


def test_it_stands_before_the_lines_of_the_graticule() -> None:
    ghost = np.zeros((24, 8), np.int64)
    ghost[4:20] = 1
    drawn = draw_waveform(np.zeros((24, 8), np.int64), True, ghost)
    assert (drawn.inks[1:5, 4:] == Ink.GHOST).all()
    assert (drawn.inks[:, :3] != Ink.GHOST).all()
