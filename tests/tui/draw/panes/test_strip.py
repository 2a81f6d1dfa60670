"""The desk strip, letter by letter, on many rows and on few."""

import pytest

from poise_tui.draw.cells import Ink
from poise_tui.draw.panes.strip import Control, draw_strip, fitted

CONTROLS = (
    Control("red", "+0.005", "offset", "q a z", neutral=False),
    Control("green", "+0.000", "offset", "w s x"),
    Control("saturation", "1.020", "x", "o l .", neutral=False),
    Control("", "", "", ""),
)


@pytest.mark.parametrize(
    ("columns", "rows", "lines"),
    [
        (48, 4, ["red         green       saturation",
                 "+0.005      +0.000      1.020",
                 "offset      offset      x",
                 "q a z       w s x       o l ."]),
        (36, 3, ["red      green    satur.",
                 "+0.005   +0.000   1.020",
                 "offset   offset   x"]),
        (28, 2, ["red    green  satur.",
                 "+0.005 +0.000 1.020"]),
        (28, 1, ["+0.005 +0.000 1.020"]),
        (8, 2, ["r g s",
                "# # 1"]),
        (2, 2, ["", ""]),
    ],
)  # fmt: skip
def test_values_come_first_then_names_units_and_keys(columns: int, rows: int, lines: list[str]) -> None:
    assert draw_strip(CONTROLS, columns, rows).lines() == [line.ljust(columns) for line in lines]


@pytest.mark.parametrize(
    ("value", "width", "text"),
    [("10.0", 3, "10"), ("100.0", 4, "100"), ("0.50", 3, ".50"), ("-0.50", 4, "-.50"), ("+10.25", 4, "+10")],
)
def test_a_figure_in_less_room_is_rounded_never_another(value: str, width: int, text: str) -> None:
    assert fitted(value, width) == text


def test_channels_have_their_colours_and_what_was_moved_is_brighter() -> None:
    cells = draw_strip(CONTROLS, 48, 4)
    assert cells.inks[:, 0].tolist() == [Ink.RED, Ink.TEXT, Ink.FAINT, Ink.KEY]
    assert cells.inks[:, 12].tolist() == [Ink.GREEN, Ink.FAINT, Ink.FAINT, Ink.KEY]
    assert cells.inks[:2, 24].tolist() == [Ink.TITLE, Ink.TEXT]


def test_columns_never_run_into_each_other() -> None:
    full = tuple(Control("saturation", "-" * 30, "x" * 30, "q a z" * 9) for _ in range(10))
    for columns in range(20, 241):
        for line in draw_strip(full, columns, 4).lines():
            for place in range(1, 11):
                assert line[columns * place // 10 - 1] == " "


def test_banks_after_the_first_have_their_names_on_a_band() -> None:
    cells = draw_strip(CONTROLS, 48, 4, band=True)
    assert cells.lines() == draw_strip(CONTROLS, 48, 4).lines()
    assert set(cells.inks[0].tolist()) == {Ink.CHOSEN}
    assert Ink.CHOSEN not in cells.inks[1:]
