"""The list of mattes and the figures below it, letter by letter."""

import pytest

from poise.correction import Matte
from poise_tui.draw.cells import Ink
from poise_tui.draw.panes.mattes import Figure, draw_mattes

MATTES = (Matte("sea"), Matte("lighthouse wall in the sun", on=False, invert=True), Matte("awning", invert=True))
FIGURES: tuple[Figure, ...] = (("covers", "12.4 %", False), ("spreads", "31.0 %", True), ("hue", "243", False))


def drawn(chosen: int, columns: int, rows: int) -> list[str]:
    return draw_mattes(MATTES, chosen, FIGURES, columns, rows).lines()


def test_rows_tell_marks_numbers_and_names() -> None:
    assert drawn(1, 24, 9) == [
        "mattes 2/3              ",
        "= 1 sea                 ",
        "-~2 lighthouse~n the sun",
        "=~3 awning              ",
        "                        ",
        "covers            12.4 %",
        "spreads           31.0 %",
        "hue                  243",
        "                        ",
    ]


def test_a_matte_to_be_made_has_a_row_of_its_own() -> None:
    assert drawn(3, 16, 8) == [
        "mattes 3        ",
        "= 1 sea         ",
        "-~2 lighth~e sun",
        "=~3 awning      ",
        "+ new           ",
        "covers    12.4 %",
        "spreads   31.0 %",
        "hue          243",
    ]
    assert [line.rstrip() for line in draw_mattes((), 0, (), 10, 3).lines()] == ["mattes 0", "+ new", ""]


def test_few_rows_scroll_the_mattes_and_leave_half_to_the_figures() -> None:
    assert drawn(3, 16, 6) == [
        "mattes 3        ",
        "=~3 awning      ",
        "+ new           ",
        "covers    12.4 %",
        "spreads   31.0 %",
        "hue          243",
    ]
    assert drawn(0, 16, 4) == ["mattes 1/3      ", "= 1 sea         ", "covers    12.4 %", "spreads   31.0 %"]
    assert drawn(1, 8, 2) == ["mattes 2", "-~2 li~n"]


def test_the_one_in_hand_stands_out_and_so_do_warnings() -> None:
    cells = draw_mattes(MATTES, 0, FIGURES, 24, 9)
    assert set(cells.inks[1].tolist()) == {Ink.CHOSEN}
    assert all(Ink.CHOSEN not in row for row in cells.inks[2:].tolist())
    assert (cells.inks[2, 0], cells.inks[2, 4], cells.inks[3, 4]) == (Ink.KEY, Ink.FAINT, Ink.TEXT)
    assert (cells.inks[5, 0], cells.inks[5, -1], cells.inks[6, -1]) == (Ink.FAINT, Ink.TEXT, Ink.WARNING)
    assert set(draw_mattes(MATTES, 3, FIGURES, 24, 9).inks[4].tolist()) == {Ink.CHOSEN}


def test_values_keep_their_room_before_labels() -> None:
    assert drawn(0, 10, 9)[5:8] == ["cov 12.4 %", "spr 31.0 %", "hue    243"]
    assert drawn(0, 4, 9)[5] == "12.4"


@pytest.mark.parametrize("rows", range(2, 14))
@pytest.mark.parametrize("chosen", range(9))
def test_the_one_in_hand_is_always_in_sight(rows: int, chosen: int) -> None:
    mattes = tuple(Matte(f"stall {place}") for place in range(8))
    cells = draw_mattes(mattes, chosen, FIGURES, 20, rows)
    named = "+ new" if chosen == 8 else f"stall {chosen}"
    lines = cells.lines()
    assert sum(named in line for line in lines) == 1
    figures = sum(line.startswith(tuple(label for label, _, _ in FIGURES)) for line in lines)
    assert figures == min(len(FIGURES), rows // 2, rows - 2)


def test_wide_names_and_no_room_at_all() -> None:
    assert draw_mattes((Matte("海港の水面"),), 0, (), 12, 2).lines()[1].replace("\0", "") == "= 1 海港~面 "
    for columns in range(6):
        for rows in range(6):
            assert draw_mattes(MATTES, 2, FIGURES, columns, rows).shape == (rows, columns)
