"""The run of a sequence as text: what stands where, and that it stands nowhere else."""

from itertools import product

import numpy as np
import pytest

from poise.scopes import Course, drift
from poise.scopes.words import describe
from poise_tui.draw.cells import Ink
from poise_tui.draw.panes.run import Marked, draw_run

NUMBERS = np.arange(1001, 1013)


def course(jump: float = 0.0) -> Course:
    """Twelve frames: luma's middle at 40 % rises by 11 %, red stands 20 % above it, blue 20 % below; one jumps."""
    levels = 40 + np.arange(12.0)[:, None, None] * np.ones((1, 4, 3)) + np.array([-30, 0, 30])
    levels[:, 1, 1] += 20
    levels[:, 3, 1] -= 20
    levels[6] += jump
    return Course(NUMBERS, levels)


def drawn(columns: int, rows: int, unicode: bool, marked: Marked, words: tuple[str, ...] = ()) -> list[str]:
    found = drift(course(10))
    assert found is not None
    cells = draw_run(course(10), found.departures, marked, words, columns, rows, unicode)
    assert cells.shape == (rows, columns)
    return [line.rstrip() for line in cells.lines()]


MARKED = Marked(1001, 1012, here=1003, judged=1005, abrupt=(1007,), broken=(1010,))
WORDS = ("no drift", "flickers 2.9 % rms")


def test_plain_characters_name_the_lines_and_mark_the_frames() -> None:
    """Two columns a frame, and 10 % a row: luma's 40 % is in the seventh, 45 % in the sixth, 46 + 10 % in the fifth."""
    assert drawn(28, 17, False, MARKED, WORDS) == [
        "100 - - -|- - - - - - - - -",
        "                 :",
        " 75 - - -|- - : rr: : : : :",
        "     : : : : :rr :rrrrrrrrrR",
        "    rrrrrrrrrr: ##: : : : :",
        " 50 -:-:-:-:-:##-:#########Y",
        "    ##########: bb: : : : :",
        " 25 -:-:-:-:-:bb-:bbbbbbbbbB",
        "    bbbbbbbbbb:   : : : : :",
        "     : : : : :",
        "  0 - - -|- - - - - - - - -",
        "+10 flicker     !!",
        "  0 - - - - - - - - - - - -",
        "-10",
        "         ^   @   !     x",
        "       1003             1012",
        "no drift; flickers 2.9 % rms",
    ]


def test_the_first_frame_is_named_once() -> None:
    """At its own place, which may lie away from the left end of the axis."""
    run = Course(np.arange(101, 104), np.full((3, 4, 3), 50.0))
    axis = draw_run(run, None, Marked(101, 103, here=101, judged=101), (), 60, 9).lines()[-1]
    assert axis.split() == ["101", "103"]


def test_braille_shows_a_rise_of_one_per_cent_a_frame() -> None:
    """Four dots a row, 2.5 % each: eleven per cent are five steps."""
    assert drawn(28, 17, True, MARKED, WORDS)[5:] == [
        " 50 ⢕⢕⢕⢕⢕⠅⢕⢕⢕⢕⣀⣀⠇⢕⣇⣀⠤⠤⠤⠤⠒⠒⠒Y",
        "    ⠒⠒⠒⠒⠒⠒⠉⠉⠉⠉⢕⢕⣀⣀⢕⢕⢕⢕⢕⢕⢕⢕⢕⢕",
        " 25 ⢕⢕⢕⢕⢕⠅⢕⢕⢕⢕⣀⣀⠇⢕⣇⣀⠤⠤⠤⠤⠒⠒⠒B",
        "    ⠒⠒⠒⠒⠒⠒⠉⠉⠉⠉⢕⢕  ⢕⢕⠕⠕⠕⠕⠑⠑⠑⠑",
        "    ⠑⠑⠑⠑⠑⠅⠁⠁⠁⠁",
        "  0 ⠂ ⠂ ⠂⠅⠂ ⠂ ⠂ ⠂ ⠂ ⠂ ⠂ ⠂ ⠂",
        "+10 flicker     ⣶⣶",
        "  0 ⠄ ⠄ ⠄ ⠄ ⠄ ⠄ ⠛⠛⠄ ⠄ ⠄ ⠄ ⠄",
        "-10",
        "         ^   @   !     x",
        "       1003             1012",
        "no drift; flickers 2.9 % rms",
    ]


def test_what_jumps_is_in_the_ink_of_warnings() -> None:
    found = drift(course(10))
    assert found is not None
    cells = draw_run(course(10), found.departures, MARKED, WORDS, 28, 17, False)
    assert [int(ink) for ink in cells.inks[11, 16:18]] == [Ink.WARNING] * 2
    assert (int(cells.inks[14, 9]), int(cells.inks[14, 17])) == (Ink.CHOSEN, Ink.WARNING)


def test_more_frames_than_columns_lose_no_jump() -> None:
    """A thousand frames on 24 columns: the one that jumps by 50 % reaches its row."""
    levels = np.full((1000, 4, 3), 30.0)
    levels[477] = 80
    marked = Marked(1, 1000, 1, 1, (478,))
    lines = draw_run(Course(np.arange(1, 1001), levels), None, marked, (), 28, 13, False).lines()
    (row,) = [line for line in lines if line.startswith(" 75")]
    assert row[4 + 477 * 24 // 1000] == "#"
    assert any("flicker: not yet known" in line for line in lines)


def test_frames_that_are_not_known_yet_are_bridged() -> None:
    run = course()
    run.levels[1:11] = np.nan
    lines = draw_run(run, None, Marked(1001, 1012, 1001, 1001), (), 28, 9, False).lines()
    assert sum(line.count("#") for line in lines) >= 22
    unknown = Course(NUMBERS, np.full((12, 4, 3), np.nan))
    lines = draw_run(unknown, None, Marked(1001, 1012, 1001, 1001), ("0 of 12 frames read",), 28, 12, False).lines()
    assert lines[-1].rstrip() == "0 of 12 frames read"


def test_words_that_have_no_room_end_in_dots_and_a_figure_keeps_its_unit() -> None:
    marked = Marked(1001, 1012, 1001, 1001)
    lines = draw_run(course(), None, marked, ("drifts +11.0 % in the middle over 12 frames",), 28, 12, False).lines()
    assert [line.rstrip() for line in lines[-2:]] == ["drifts +11.0 % in the middle", "over 12 frames"]
    short = draw_run(course(), None, marked, ("drifts +11.0 % in the middle over 12 frames",), 28, 8, False).lines()
    assert short[-1].rstrip() == "drifts +11.0 % in the mi ..."


@pytest.mark.parametrize("unicode", [True, False])
def test_every_size_from_nothing_on_is_drawn(unicode: bool) -> None:
    marked = Marked(1001, 1012, 1012, 1001, (1007,), (1002, 1003))
    found = drift(course(10))
    assert found is not None
    for columns, rows in product((0, 1, 19, 20, 33, 120), (0, 1, 2, 6, 7, 9, 10, 11, 24, 60)):
        cells = draw_run(course(10), found.departures, marked, describe(found), columns, rows, unicode)
        assert cells.shape == (rows, columns)
