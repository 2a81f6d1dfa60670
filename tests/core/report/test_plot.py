"""The reel as a drawing: every mark at its level, told apart by shape, as many strips as there is room for."""

import re

import numpy as np
import pytest

from poise.report.plot import HEAD, LEFT, MOST, RIGHT, TALL, WIDTH, height, plotted
from poise.scopes import Readings, measure


def shot(red: float, green: float, blue: float) -> Readings:
    """Flat: black, middle and white are one level."""
    return measure(np.full((2, 2, 3), (red, green, blue), np.float32))


def test_levels_stand_on_the_scale_of_the_instruments() -> None:
    # EBU R 103's -5 % to 105 %, evenly
    assert [height(level) for level in (105, 100, 0, -5)] == pytest.approx(
        [0, TALL * 5 / 110, TALL * 105 / 110, TALL], abs=0.01
    )
    assert (height(400), height(-40)) == (0, TALL)


def test_the_channels_of_a_shot_stand_from_left_to_right_each_in_its_shape() -> None:
    (strip,) = plotted([shot(0.9, 0.5, 0.1)], [shot(0.5, 0.5, 0.5)], [True])
    before, after = strip.panels
    assert (before.title, after.title) == ("before", "after")
    red, green, blue = before.series
    assert (red.name, green.name, blue.name) == ("red", "green", "blue")
    assert (red.marks.count("z"), "a" in green.marks, red.marks.count("h"), blue.marks.count("l")) == (3, True, 6, 9)
    across = []
    for series, level in ((red, 90), (green, 50), (blue, 10)):
        x, low, high = map(float, re.fullmatch(r"M([\d.]+) ([\d.]+)V([\d.]+)", series.stems).groups())  # type: ignore[union-attr]
        assert low == pytest.approx(HEAD + height(level), abs=0.01)
        assert high == low
        across.append(x)
    assert across == sorted(across)
    assert [figure for _, figure in after.middle] == ["50", "50", "50"]


def test_a_shot_that_cannot_be_read_leaves_its_place_empty() -> None:
    grey = shot(0.5, 0.5, 0.5)
    nothing = measure(np.full((2, 2, 3), np.nan, np.float32))
    (strip,) = plotted([grey, None, nothing, grey], [grey, None, nothing, grey], [True] * 4)
    assert len(strip.columns) == 4
    assert all(series.stems.count("M") == 2 for panel in strip.panels for series in panel.series)
    column = strip.columns[1]
    assert all(panel.unread == (column.x + column.width / 2,) for panel in strip.panels)


@pytest.mark.parametrize(("count", "strips"), [(0, 0), (1, 1), (MOST, 1), (MOST + 1, 2), (500, 5)])
def test_a_long_reel_goes_on_in_strips_that_are_as_long_as_each_other(count: int, strips: int) -> None:
    grey = shot(0.5, 0.5, 0.5)
    found = plotted([grey] * count, [grey] * count, [True] * count)
    assert len(found) == strips
    assert [column.place for strip in found for column in strip.columns] == list(range(count))
    for strip in found:
        last = strip.columns[-1]
        assert strip.columns[0].x == LEFT
        assert last.x + last.width <= WIDTH - RIGHT + 0.5
        assert len(strip.columns) in (len(found[0].columns), len(found[-1].columns))


def test_one_apart_is_marked_and_what_does_not_count_moves_nothing() -> None:
    reel = [shot(0.5, 0.5, 0.5)] * 6 + [shot(0.9, 0.9, 0.9)] + [shot(0.1, 0.1, 0.1)]
    (strip,) = plotted(reel, reel, [True] * 7 + [False])
    (x,) = strip.panels[0].outliers
    column = strip.columns[6]
    assert x == pytest.approx(column.x + column.width / 2)
