"""The arrangement of every mode at every size from one cell up: panes lie inside, and never over each other."""

import numpy as np
import pytest
from thorough import many

from poise_tui.desk import MODES, Mode
from poise_tui.draw.arrange import ALONE, INSTRUMENTS, Area, Instrument, arrange


def covered(panes: dict[str, Area], width: int, height: int) -> np.ndarray:  # type: ignore[type-arg]
    """(height, width) how many panes lie on each cell."""
    cells = np.zeros((height, width), np.int64)
    for area in panes.values():
        cells[area.y : area.y + area.height, area.x : area.x + area.width] += 1
    return cells


def sizes(width: int, height: int) -> list[tuple[int, int]]:
    """Terminals up to a size: every width and every height among them, on request all pairs of them."""
    apart = many(7, 1)
    return [(x, y) for x in range(1, width + 1) for y in range(1, height + 1) if (x + y) % apart == 0 or x * y < 99]


def inside(panes: dict[str, Area], width: int, height: int) -> bool:
    """Whether every pane has cells, and all of them are the terminal's."""
    return all(
        area.x >= 0 and area.y >= 0 and area.width >= 1 and area.height >= 1
        and area.x + area.width <= width and area.y + area.height <= height
        for area in panes.values()
    )  # fmt: skip


@pytest.mark.parametrize("mode", MODES)
@pytest.mark.parametrize("view", [None, "vectorscope"])
def test_panes_lie_inside_and_apart_at_every_size(view: Instrument | None, mode: Mode) -> None:
    faults = []
    for width, height in sizes(*((240, 70) if mode == "balance" else (200, 60))):
        panes = arrange(width, height, view, mode)
        if not inside(panes, width, height) or covered(panes, width, height).max() > 1:
            faults.append((width, height))
    assert faults == []


@pytest.mark.parametrize("mode", MODES)
def test_the_last_row_is_for_hints_and_status_is_there_from_two_rows_on(mode: Mode) -> None:
    for width, height in sizes(200, 60):
        panes = arrange(width, height, mode=mode)
        assert panes["hints"] == Area(0, height - 1, width, 1)
        assert ("status" in panes) is (height >= 2)
        if height >= 2:
            assert (panes["status"].x, panes["status"].width, panes["status"].height) == (0, width, 1)


@pytest.mark.parametrize("mode", MODES)
def test_only_what_may_lie_around_the_middle_changes_with_the_table(mode: Mode) -> None:
    for width, height in ((80, 24), (120, 40), (200, 60), (60, 20), (30, 12)):
        here, balancing = arrange(width, height, mode=mode), arrange(width, height)
        for name in ("hints", "status", "strip"):
            assert here.get(name) == balancing.get(name)


@pytest.mark.parametrize("mode", ["pick", "matte", "curve"])
def test_every_cell_of_a_table_belongs_to_a_pane_where_there_is_room(mode: Mode) -> None:
    for width, height in ((80, 24), (100, 31), (120, 40), (200, 60), (60, 20), (89, 33), (151, 26)):
        assert (covered(arrange(width, height, mode=mode), width, height) == 1).all(), (width, height)


def test_what_each_table_needs_is_there_at_80_by_24() -> None:
    around = {"shots", "status", "strip", "hints"}
    assert set(arrange(80, 24, mode="matte")) == around | {"mattes", "picture", "vectorscope", "ranges"}
    assert set(arrange(80, 24, mode="pick")) == around | {"patch", "picture"}
    assert set(arrange(80, 24, mode="curve")) == around | {"readings", "curve"}


def test_at_the_matte_table_the_three_ranges_have_their_rows() -> None:
    for width in range(80, 201, 5):
        for height in range(24, 61):
            panes = arrange(width, height, mode="matte")
            assert panes["ranges"].height >= 7  # a title, and two rows for each of hue, chroma and luma
            assert panes["picture"].height >= 8
            assert panes["vectorscope"].width >= 16
            assert panes["vectorscope"].height >= 8


def test_with_more_room_come_the_instruments_that_tell_what_is_done() -> None:
    around = {"shots", "readings", "status", "strip", "hints"}
    for width, height in ((120, 40), (200, 60)):
        assert set(arrange(width, height, mode="pick")) == around | {
            *("patch", "picture", "waveform", "parade", "vectorscope")
        }
        assert set(arrange(width, height, mode="matte")) == around | {"mattes", "picture", "vectorscope", "ranges"}
        assert set(arrange(width, height, mode="curve")) == around | {"curve", "parade", "picture"}


@pytest.mark.parametrize("mode", ["pick", "matte", "curve"])
@pytest.mark.parametrize("view", INSTRUMENTS)
def test_an_instrument_asked_for_stands_alone_at_every_table(view: Instrument, mode: Mode) -> None:
    for width, height in ((80, 24), (120, 40), (200, 60)):
        every, alone = arrange(width, height, mode=mode), arrange(width, height, view, mode)
        middle = {*INSTRUMENTS, "ranges", "curve"}
        assert set(alone) == (set(every) - middle) | {view}
        shown = [area for name, area in every.items() if name in middle]
        assert alone[view].width * alone[view].height == sum(area.width * area.height for area in shown)


def test_the_list_of_shots_keeps_rows_beside_what_else_stands_in_its_column() -> None:
    for mode in MODES:
        for height in range(14, 61):
            panes = arrange(120, height, mode=mode)
            assert panes["shots"].height >= 4, (mode, height)


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
