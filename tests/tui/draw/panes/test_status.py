"""The status line and the hints, letter by letter: what matters most stays where there is little room."""

import pytest

from poise_tui.draw.cells import Ink
from poise_tui.draw.panes.status import Status, draw_hints, draw_status

FULL = Status(
    *("desk 2/2", "whole trace", 0.5, "ACEScct", "sRGB", 3, 1, "saved"),
    before="BEFORE", frame="frame 102 of 101-104", state="held", marked=2,
)  # fmt: skip
UNSAVED = Status("desk 1/2", "shadows", 1, "sRGB", "sRGB", 0, 0, "NOT SAVED: 1", safe=False, before="BEFORE")
HINTS = (("qaz ..", "nudge"), ("enter", "balanced, on"), ("A", "auto"))


@pytest.mark.parametrize(
    ("columns", "line"),
    [
        (140, "desk 2/2  whole trace  step x0.5  ACEScct > sRGB  frame 102 of 101-104  undo 3 redo 1  held  2 marked  "
              "BEFORE  saved"),
        (100, "desk 2/2  whole trace  step x0.5  ACEScct > sRGB  frame 102 of 101-104  undo 3 redo 1  BEFORE  saved"),
        (80, "desk 2/2  whole trace  step x0.5  ACEScct > sRGB  BEFORE  saved"),
        (60, "desk 2/2  whole trace  step x0.5  BEFORE  saved"),
        (30, "whole trace  BEFORE  saved"),
        (20, "BEFORE  saved"),
        (8, "BEFORE"),
        (3, "BEF"),
    ],
)  # fmt: skip
def test_what_matters_least_is_left_out_first(columns: int, line: str) -> None:
    assert draw_status(FULL, columns).lines() == [line.ljust(columns)]


def test_what_is_not_saved_is_said_to_the_last() -> None:
    assert draw_status(UNSAVED, 60).lines()[0].rstrip() == "desk 1/2  shadows  step x1  sRGB  BEFORE  NOT SAVED: 1"
    assert draw_status(UNSAVED, 18).lines()[0].rstrip() == "NOT SAVED: 1"
    cells = draw_status(UNSAVED, 60)
    place = cells.lines()[0].index("NOT")
    assert set(cells.inks[0, place : place + 12].tolist()) == {Ink.WARNING}
    assert set(draw_status(FULL, 20).inks[0, 8:13].tolist()) == {Ink.FAINT}


def test_hints_are_whole_or_not_there() -> None:
    for columns in range(60):
        line = draw_hints(HINTS, "", False, columns).lines()[0]
        whole = ["", "qaz .. nudge", "qaz .. nudge  enter balanced, on", "qaz .. nudge  enter balanced, on  A auto"]
        assert line.rstrip() == max((one for one in whole if len(one) <= columns), key=len)
    assert draw_hints(HINTS, "", False, 60).inks[0, :7].tolist() == [Ink.KEY] * 6 + [Ink.NONE]


def test_a_message_takes_their_place() -> None:
    assert draw_hints(HINTS, "no further frame", False, 60).lines()[0].rstrip() == "no further frame"
    cells = draw_hints(HINTS, "海 fog over the pier", True, 8)
    assert cells.lines() == ["海 fog o"]
    assert set(cells.inks[0].tolist()) == {Ink.WARNING}
