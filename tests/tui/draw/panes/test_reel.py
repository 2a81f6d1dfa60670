"""The reel view as exact text, and which shots stand in its columns."""

import numpy as np
import pytest

from poise.scopes.reel import FIGURES, Figures
from poise.scopes.reel import reel as compared
from poise_tui.draw.cells import STEPS, Ink
from poise_tui.draw.panes.columns import Columns, columns
from poise_tui.draw.panes.reel import draw_reel, room


def even(count: int) -> Figures:
    """Shots of black 5, middle 50, white 95."""
    return np.tile(np.array([5.0, 50, 95] * 4 + [0, 0, 0]), (count, 1))


def harbour(each: int = 1, count: int = 5, before: int = 0) -> Columns:
    """Seven shots: the third lost its blue, the fifth was lifted by 20, the sixth can't be read; the third current."""
    after = even(7)
    after[2, 11], after[2, 14] = 60, 35
    after[5] = np.nan
    first = after.copy()
    first[4, 3:12] -= 20
    first[4, 3:12:3] = 0
    rule = compared(after)
    faults = np.arange(7) == 5
    return columns(np.arange(7), after, first, rule.median, rule.outliers, faults, 2, each, count, before)


PLAIN = """\
             !              
100 RGB=RGB=RG-=RGB=RGB= 95 
    ||| ||| ||  ||| |||     
 75 ||| ||| ||- ||| rgb     
    ||| ||| ||  ||| |||     
    ||| ||| ||B ||| |||     
 50 RGB=RGB=RGB=RGB=RGB= 50 
    ||| ||| ||| ||| |||     
 25 ||| ||| ||| ||| rgb     
    ||| ||| ||| ||| |||     
    RGB=RGB=RGB=RGB=RGB=  5 
  0 - - - - - - - - rgb     
    1   2   3   4   5       
    =====+======--------    """  # noqa: W291

BRAILLE = """\
             !              
100 ⣀⣀⣀⣀⣀⣀⣀⣀⣀⣀⠂⣀⣀⣀⣀⣀⣀⣀⣀⣀ 95 
    ⢰⢰⢰ ⢰⢰⢰ ⢰⢰  ⢰⢰⢰ ⢰⢰⢰     
 75 ⢸⢸⢸ ⢸⢸⢸ ⢸⢸⡀ ⢸⢸⢸ ⣸⣸⣸     
    ⢸⢸⢸ ⢸⢸⢸ ⢸⢸  ⢸⢸⢸ ⢸⢸⢸     
    ⢸⢸⢸ ⢸⢸⢸ ⢸⢸⢒ ⢸⢸⢸ ⢸⢸⢸     
 50 ⢒⢒⢒⠒⢒⢒⢒⠒⢒⢒⢒⠒⢒⢒⢒⠒⢒⢒⢒⠒ 50 
    ⢸⢸⢸ ⢸⢸⢸ ⢸⢸⢸ ⢸⢸⢸ ⢸⢸⢸     
 25 ⢸⢸⢸ ⢸⢸⢸ ⢸⢸⢸ ⢸⢸⢸ ⢺⢺⢺     
    ⢸⢸⢸ ⢸⢸⢸ ⢸⢸⢸ ⢸⢸⢸ ⢸⢸⢸     
    ⣘⣘⣘⣀⣘⣘⣘⣀⣘⣘⣘⣀⣘⣘⣘⣀⣘⣘⣘⣀  5 
  0 ⠂ ⠂ ⠂ ⠂ ⠂ ⠂ ⠂ ⠂ ⠂⠂⠂     
    1   2   3   4   5       
    ━━━━━+━━━━━━────────    """  # noqa: W291

GROUPED = """\
       !      x             
100 RRGGBB=RRGGBB=RRGGBB= 95 
 75 -|-|BB-r|g|b| -|-|-|-    
     | |BB  | | |  | | |     
 50 RRGGBB=RRGGBB=RRGGBB= 50 
     | | | r|g|b|  | | |     
 25 -|-|-|- | | | -|-|-|-    
  0 RRGGBB=RRGGBB=RRGGBB=  5 
    3      4      7          """  # noqa: W291


def text(cells: object) -> list[str]:
    return [line.rstrip() for line in cells.lines()]  # type: ignore[attr-defined]


def lines(wanted: str) -> list[str]:
    return [line.rstrip() for line in wanted.split("\n")]


def test_a_reel_in_plain_characters_and_in_braille() -> None:
    assert text(draw_reel(harbour(), 1, 14, unicode=False)) == lines(PLAIN)
    assert text(draw_reel(harbour(), 1, 14)) == lines(BRAILLE)


def test_groups_reach_from_their_lowest_to_their_highest_and_need_no_overview_when_all_are_in_sight() -> None:
    assert text(draw_reel(harbour(3, 9), 2, 9, unicode=False)) == lines(GROUPED)


def test_channels_have_their_colours_and_what_was_before_is_fainter() -> None:
    cells = draw_reel(harbour(), 1, 14)
    for place, ink in enumerate((Ink.RED, Ink.GREEN, Ink.BLUE)):
        assert {*cells.inks[2:5, 4 + place].tolist()} == {ink}
    assert cells.steps[1, 4] == STEPS - 1  # a white
    assert cells.steps[4, 4] == 0  # a stem
    assert cells.steps[3, 20] == 1  # the white that was, of the fifth
    assert cells.inks[0, 13] == Ink.WARNING
    assert cells.inks[12, 12:15].tolist() == [Ink.CHOSEN] * 3
    assert cells.inks[1, 7] == Ink.MARK


def test_before_alone_and_nothing_known() -> None:
    unknown = np.full((3, len(FIGURES)), np.nan)
    rule = compared(unknown)
    found = columns(np.arange(3), unknown, None, rule.median, rule.outliers, np.zeros(3, bool), 1, 1, 9)
    assert text(draw_reel(found, 1, 7, unicode=False)) == [
        "     .   .   .",
        "100 - - - - - -",
        " 75 - - - - - -",
        " 50 - - - - - -",
        " 25 - - - - - -",
        "  0 - - - - - -",
        "    1   2   3",
    ]


def test_levels_beyond_the_scale_stand_at_its_ends() -> None:
    rows = even(2)
    rows[0, 3:6] = -40, 50, 300
    rule = compared(rows)
    found = columns(np.arange(2), rows, None, rule.median, rule.outliers, np.zeros(2, bool), 0, 1, 2)
    drawn = draw_reel(found, 1, 13, unicode=False).lines()
    assert (drawn[1][4], drawn[11][4]) == ("R", "R")


@pytest.mark.parametrize(("shots", "each"), [(2, 1), (200, 1), (2000, 1), (2000, 50), (2000, 1000)])
@pytest.mark.parametrize("cells", [13, 58, 92, 190])
def test_the_shot_in_hand_is_always_in_sight_and_numbered(shots: int, each: int, cells: int) -> None:
    rows = even(shots)
    rows[shots // 3, 3:6] = 0, 10, 20
    rule = compared(rows)
    first = 0
    for chosen in (0, 1, shots // 2, shots - 1, shots // 3, 0):
        count, wide = room(cells, -(-shots // each))
        listed, none = np.arange(shots), np.zeros(shots, bool)
        found = columns(listed, rows, None, rule.median, rule.outliers, none, chosen, each, count, first)
        first = found.first
        assert 0 <= found.first <= chosen <= found.last < shots
        assert found.place < len(found.shown) <= count
        drawn = draw_reel(found, wide, 20)
        assert drawn.shape[1] <= max(cells, 12)
        numbers = drawn.lines()[-1 if len(found.shown) * each >= shots else -2].split()
        assert str(chosen + 1) in numbers
        assert [int(number) for number in numbers] == sorted(int(number) for number in numbers)
        if len(found.shown) * each < shots:
            overview = drawn.lines()[-1]
            assert overview.count("+") == 1
            assert "!" in overview or shots < 5 or chosen == shots // 3


def test_columns_scroll_no_more_than_they_must() -> None:
    rows, rule, listed = even(100), compared(even(100)), np.arange(100)

    def first(chosen: int, before: int) -> int:
        return columns(listed, rows, None, rule.median, rule.outliers, listed < 0, chosen, 1, 10, before).first

    assert first(5, 0) == 0
    assert first(25, 20) == 20
    assert first(28, 20) == 21
    assert first(99, 20) == 90


def test_few_shots_are_drawn_wide() -> None:
    assert room(58, 2) == (3, 4)
    assert room(58, 12) == (12, 1)
    assert room(3, 5) == (1, 1)


def test_small_panes_are_no_fault() -> None:
    for rows in range(6):
        for unicode in (True, False):
            assert draw_reel(harbour(), 1, rows, unicode).shape[0] >= 3


def test_the_list_says_which_shots_and_in_which_order() -> None:
    rows = even(9)
    rows[:, 5] = range(60, 69)  # white of red
    rule, faults = compared(rows), np.arange(9) == 4
    found = columns(np.array([8, 4, 0]), rows, None, rule.median, np.arange(9) == 8, faults, 1, 1, 5)
    assert found.shown[:, 0, 2, 0].tolist() == [68, 64, 60]
    assert (found.marks, found.place, found.last) == ("!x ", 1, 2)
    assert found.outliers.tolist() == [True, False, False]
