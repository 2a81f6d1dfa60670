"""The arrangement at every size from one cell to 240 x 70: panes lie inside, and never over each other."""

import numpy as np
import pytest

from poise_tui.draw.arrange import ALONE, INSTRUMENTS, Area, Instrument, arrange


def covered(panes: dict[str, Area], width: int, height: int) -> np.ndarray:  # type: ignore[type-arg]
    """(height, width) how many panes lie on each cell."""
    cells = np.zeros((height, width), np.int64)
    for area in panes.values():
        cells[area.y : area.y + area.height, area.x : area.x + area.width] += 1
    return cells


@pytest.mark.parametrize("view", [None, "vectorscope"])
def test_panes_lie_inside_and_apart_at_every_size(view: Instrument | None) -> None:
    faults = []
    for width in range(1, 241):
        for height in range(1, 71):
            panes = arrange(width, height, view)
            inside = all(
                area.x >= 0 and area.y >= 0 and area.width >= 1 and area.height >= 1
                and area.x + area.width <= width and area.y + area.height <= height
                for area in panes.values()
            )  # fmt: skip
            if not inside or covered(panes, width, height).max() > 1:
                faults.append((width, height))
    assert faults == []


def test_every_cell_belongs_to_a_pane_where_there_is_room() -> None:
    for width, height in ((80, 24), (100, 31), (120, 40), (200, 60), (240, 70), (60, 20), (89, 33), (151, 26)):
        assert (covered(arrange(width, height), width, height) == 1).all(), (width, height)


def test_what_there_is_room_for() -> None:
    assert set(arrange(120, 40)) == {*INSTRUMENTS, "shots", "readings", "status", "strip", "hints"}
    assert set(arrange(80, 24)) == {ALONE, "shots", "readings", "status", "strip", "hints"}
    assert set(arrange(1, 1)) == {"hints"}
    assert set(arrange(40, 2)) == {"hints", "status"}
    assert "shots" not in arrange(40, 24)
    assert set(arrange(20, 10)) == {"hints", "status", "strip", "shots"}


@pytest.mark.parametrize("view", INSTRUMENTS)
def test_an_instrument_alone_gets_all_the_room_of_instruments(view: Instrument) -> None:
    for width, height in ((80, 24), (120, 40), (200, 60)):
        every, alone = arrange(width, height), arrange(width, height, view)
        others = set(every) - set(INSTRUMENTS)
        assert set(alone) == others | {view}
        assert all(alone[name] == every[name] for name in others)
        shown = [every[name] for name in INSTRUMENTS if name in every]
        assert alone[view].width * alone[view].height == sum(area.width * area.height for area in shown)


def test_the_desk_keeps_its_rows_and_the_vectorscope_is_round() -> None:
    for width in range(80, 241, 8):
        for height in range(24, 71):
            panes = arrange(width, height)
            assert (panes["strip"].height, panes["status"].height, panes["hints"].height) == (4, 1, 1)
            assert (panes["hints"].y, panes["strip"].y, panes["status"].y) == (height - 1, height - 5, height - 6)
            if "histogram" in panes:  # cells are twice as high as wide; a title above, a blank column beside
                round_ = panes["vectorscope"]
                assert round_.width - 1 == 2 * (round_.height - 1)
