"""The shot list, letter by letter, and which rows of it are in sight."""

import pytest
from rich.cells import cell_len

from poise_tui.draw.cells import Cells, Ink
from poise_tui.draw.panes.listing import Row, draw_listing, first_row, title
from poise_tui.draw.panes.names import Names, shortened

ROWS = (
    Row("ferry_02.png", "balanced", (0.4, 98.6)),
    Row("ferry_night.####.png", "held", (12.0, 61.0), marked=True),
    Row("lighthouse_04.png", "skipped", None, marked=True, unsaved=True),
    Row("market_03.tif", "new", (-0.4, 100.2), unsaved=True),
    Row("fog.png", "balanced", None, fault=True),
)


def drawn(columns: int, rows: int, chosen: int = 3, first: int = 0) -> Cells:
    return draw_listing(ROWS.__getitem__, len(ROWS), chosen, columns, rows, first)


def test_rows_tell_state_marks_and_levels() -> None:
    assert drawn(30, 7).lines() == [
        "shots 4/5            blk wht  ",
        "= ferry_02.png          0  99 ",
        "h+ferry_nig~####.png   12  61 ",
        "-*lighthouse_04.png           ",
        " *market_03.tif        -0 100 ",
        "! fog.png                     ",
        "                              ",
    ]


def test_a_narrow_list_gives_up_levels_and_then_the_middle_of_names() -> None:
    assert drawn(20, 5, first=1).lines() == [
        "shots 4/5           ",
        "h+ferry_nig~###.png ",
        "-*lighthouse_04.png ",
        " *market_03.tif     ",
        "! fog.png           ",
    ]
    assert drawn(6, 3).lines() == ["4/5   ", "= f~g ", "h+f~g "]
    assert drawn(1, 2).lines() == ["4", "="]


def test_a_delivery_fault_stands_behind_the_name_whatever_the_width() -> None:
    rows = (Row("ferry_night.####.png", "balanced", (0.4, 98.6), True, beyond=True), Row("fog.png", "new", beyond=True))

    def lines(columns: int) -> list[str]:
        return draw_listing(rows.__getitem__, 2, 1, columns, 3, 0).lines()[1:]

    assert lines(30) == ["=+ferry_nig~####.png!   0  99 ", "  fog.png           !         "]
    assert lines(20) == ["=+ferry_ni~###.png! ", "  fog.png         ! "]
    assert lines(4) == ["=+  ", "    "]


def test_figures_of_an_earlier_decision_carry_a_tilde_instead_of_a_fault() -> None:
    rows = (Row("quay.png", "new", (0.4, 98.6), beyond=True, waits=True), Row("fog.png", "new", waits=True))

    def lines(columns: int) -> list[str]:
        return draw_listing(rows.__getitem__, 2, 1, columns, 3, 0).lines()[1:]

    assert lines(30) == ["  quay.png          ~   0  99 ", "  fog.png           ~         "]
    assert lines(20) == ["  quay.png        ~ ", "  fog.png         ~ "]


def test_the_chosen_row_and_faults_stand_out() -> None:
    cells = drawn(30, 7, chosen=0)
    assert set(cells.inks[1].tolist()) == {Ink.CHOSEN}
    assert all(Ink.CHOSEN not in row for row in cells.inks[2:].tolist())
    assert (cells.inks[5, 0], cells.inks[2, 1], cells.inks[2, 0]) == (Ink.WARNING, Ink.MARK, Ink.KEY)
    assert cells.inks[4, 2] == Ink.TEXT  # what is still to do is brighter than what is settled
    assert cells.inks[3, 2] == Ink.FAINT


def test_only_rows_in_sight_are_asked_for() -> None:
    asked = []

    def row_of(index: int) -> Row:
        asked.append(index)
        return Row(f"quay_{index}.png")

    cells = draw_listing(row_of, 10_000, 5000, 24, 6, 4998)
    assert asked == [4998, 4999, 5000, 5001, 5002]
    assert [line.strip() for line in cells.lines()[:2]] == ["shots 5001/10000", "quay_4998.png"]


@pytest.mark.parametrize(
    ("words", "columns", "wanted"),
    [
        ((), 20, "shots 3/12 of 200"),
        (("held",), 30, "shots 3/12 of 200, held"),
        (("held",), 20, "3/12 of 200, held"),
        (("unfinished",), 20, "3/12, unfinished"),
        (("unfinished", "'quay'", "by spread"), 20, "3/12, unfi~by spread"),
        (("held", "'quay'", "by spread"), 60, "shots 3/12 of 200, held, 'quay', by spread"),
    ],
)
def test_the_title_tells_what_is_listed_as_far_as_there_is_room(
    words: tuple[str, ...], columns: int, wanted: str
) -> None:
    assert title(2, 12, 200, words, columns) == wanted
    assert cell_len(wanted) <= columns


def test_the_title_tells_that_the_shot_in_hand_is_not_among_them() -> None:
    assert title(None, 12, 200, ("held",), 30) == "shots -/12 of 200, held"
    assert title(2, 200, 200, ("by cast",), 30) == "shots 3/200, by cast"


@pytest.mark.parametrize("rows", [1, 2, 3, 4, 5, 10, 39])
@pytest.mark.parametrize("count", [1, 3, 10, 100])
def test_the_chosen_row_is_always_in_sight(rows: int, count: int) -> None:
    first = 0
    for chosen in (*range(count), *range(count - 1, -1, -1), 0, count - 1, count // 2):
        first = first_row(chosen, count, rows, first)
        assert first <= chosen < first + rows
        assert 0 <= first <= max(count - rows, 0)


def test_the_list_moves_no_more_than_it_must() -> None:
    assert first_row(10, 100, 10, 5) == 5
    assert first_row(13, 100, 10, 5) == 6  # two rows ahead stay in sight
    assert first_row(6, 100, 10, 5) == 4
    assert first_row(99, 100, 10, 5) == 90


@pytest.mark.parametrize("name", ["ferry_night.####.png", "海港船の灯台.tif", "é" * 30, "a"])
def test_a_shortened_name_fits_and_keeps_its_beginning(name: str) -> None:
    for width in range(25):
        short = shortened(name, width)
        assert cell_len(short) <= width
        assert short == name or width < 3 or "~" in short
        assert cell_len(name) > width or short == name
        assert width < 8 or short[:2] == name[:2]


CAMERA = [f"{number:03}_allA007C{number + 11:03}_230712_R1AB.png" for number in range(1, 201)]


@pytest.mark.parametrize("width", [4, 9, 11, 15, 18, 27, 40])
def test_what_tells_two_hundred_camera_names_apart_stays(width: int) -> None:
    names = Names(CAMERA)
    found = [names.fitted(name, width) for name in CAMERA]
    assert all(cell_len(name) <= width for name in found)
    assert len(set(found)) == 200


def test_names_lose_first_what_all_share() -> None:
    names = Names(CAMERA)
    assert [names.fitted(CAMERA[4], width) for width in (31, 30, 22, 15, 12, 9, 6)] == [
        "005_allA007C016_230712_R1AB.png",
        "005_allA007C016~R1AB.png",
        "005~007C016~R1AB.png",
        "005~C016~R1AB~",
        "005~C016~R1~",
        "005~016~",
        "005~",
    ]
    assert names.fitted(f"{CAMERA[4]} @1003", 16) == "005~016~1~ @1003"  # the judged frame
    mixed = Names([f"{place}_{number:02}_night.png" for place in ("ferry", "quay") for number in range(20)])
    for width, short in ((14, ["ferry_07~png", "quay_07~png"]), (10, ["ferry_07~", "quay_07~"])):
        assert [mixed.fitted(f"{place}_07_night.png", width) for place in ("ferry", "quay")] == short


def test_certainty_stands_beside_the_readings_or_in_their_place_and_the_reference_is_marked() -> None:
    rows = (
        Row("ferry.png", "new", (0.4, 98.6), certainty=0.43),
        Row("quay.png", "balanced", None, True, certainty=1.0, reference=True),
        Row("fog.png", "new", (12.0, 61.0)),
    )

    def lines(columns: int, sure: bool = False) -> list[str]:
        return draw_listing(rows.__getitem__, 3, 2, columns, 4, 0, sure=sure).lines()

    assert [line.rstrip() for line in lines(40)] == [
        "shots 3/3                 sure blk wht",
        "  ferry.png                  43   0  99",
        "=Tquay.png                  100",
        "  fog.png                        12  61",
    ]
    assert [line.rstrip() for line in lines(30)[1:]] == [
        "  ferry.png             0  99",
        "=Tquay.png",
        "  fog.png              12  61",
    ]
    assert [line.rstrip() for line in lines(30, sure=True)] == [
        "shots 3/3               sure",
        "  ferry.png                43",
        "=Tquay.png                100",
        "  fog.png",
    ]
