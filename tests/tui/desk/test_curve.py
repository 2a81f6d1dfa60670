"""Columns of the current point: they move it as far as the curve lets them, and read the curve where there is none."""

from dataclasses import replace as renewed

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from poise.correction import NEUTRAL, Correction, Curves, checked
from poise.errors import PoiseError
from poise.sidecar.decision import Decision
from poise_tui.desk import Channel, Hand, column, is_neutral, readout
from poise_tui.desk.curve import followed, point_at, points_of, with_points

BENT = ((0.0, 0.0), (0.2, 0.1), (0.5, 0.6), (1.0, 1.0))
SHAPED = Correction(saturation=1.1, curves=Curves(green=BENT))
INPUT, OUTPUT = 0, 1
HAND = Hand(mode="curve", channel="green", at=0.2)


def nudged(correction: Correction, hand: Hand, place: int, steps: float) -> tuple[Correction, Hand]:
    found = column(hand, place)
    assert found is not None
    after = found.nudged(correction, hand, steps)
    return after, found.follow(correction, after, hand)


def test_input_and_output_move_by_the_step_of_an_offset() -> None:
    after, hand = nudged(SHAPED, HAND, INPUT, 4)
    assert points_of(after, hand) == ((0.0, 0.0), (0.22, 0.1), (0.5, 0.6), (1.0, 1.0))
    assert hand.at == 0.22  # the cursor follows its point
    after, hand = nudged(after, hand, OUTPUT, -4)
    assert points_of(after, hand) == ((0.0, 0.0), (0.22, 0.08), (0.5, 0.6), (1.0, 1.0))
    assert (after.saturation, after.curves.red, after.curves.master) == (1.1, Curves().red, Curves().master)


def test_without_a_point_at_the_cursor_nothing_moves() -> None:
    for place in (INPUT, OUTPUT):
        with pytest.raises(PoiseError, match="no point at the cursor"):
            nudged(SHAPED, renewed(HAND, at=0.3), place, 1)


def test_output_goes_home_to_the_straight_line_as_far_as_its_neighbours_let_it() -> None:
    home = column(HAND, OUTPUT)
    assert home is not None
    after = home.home(SHAPED, HAND)
    assert points_of(after, HAND)[1] == (0.2, 0.2)
    assert home.home(after, HAND) == after
    low = with_points(NEUTRAL, HAND, ((0.0, 0.0), (0.4, 0.1), (0.5, 0.3), (1.0, 1.0)))
    hand = renewed(HAND, at=0.4)
    assert points_of(home.home(low, hand), hand)[1] == (0.4, 0.3)


def test_an_input_has_no_home() -> None:
    found = column(HAND, INPUT)
    assert found is not None
    with pytest.raises(PoiseError, match="no neutral value"):
        found.home(SHAPED, HAND)


def test_what_is_read_is_the_point_or_the_curve() -> None:
    x, y = np.array(BENT).T
    for at in (0.2, 0.35, 0.75):
        hand = renewed(HAND, at=at)
        assert readout(hand, INPUT, Decision(SHAPED))[1] == f"{at:.3f}"
        value, unit = readout(hand, OUTPUT, Decision(SHAPED))[1:]
        # the curve of Fritsch and Carlson (1980), as scipy has it
        assert float(value) == pytest.approx(float(PchipInterpolator(x, y)(at)), abs=0.0005)
        assert unit == ("point" if at == 0.2 else "no point")
    assert readout(Hand(mode="curve", at=0.3), OUTPUT, Decision(SHAPED))[1] == "0.300"


def test_a_point_on_the_straight_line_is_neutral() -> None:
    assert not is_neutral(HAND, OUTPUT, Decision(SHAPED))
    assert is_neutral(renewed(HAND, at=1.0), OUTPUT, Decision(SHAPED))
    assert is_neutral(renewed(HAND, at=0.3), OUTPUT, Decision(SHAPED))


def test_beyond_the_two_columns_there_is_none() -> None:
    assert [column(HAND, place) is None for place in range(10)] == [False] * 2 + [True] * 8


def test_the_cursor_stays_where_no_point_was_moved() -> None:
    hand = renewed(HAND, at=0.3)
    assert followed(SHAPED, SHAPED, hand) == hand
    assert point_at(BENT, 0.5) == 2
    assert point_at(BENT, 0.501) is None


@given(
    st.sampled_from(["red", "green", "blue", "master"]),
    st.lists(
        st.tuples(st.integers(0, 3), st.sampled_from([INPUT, OUTPUT]), st.sampled_from([-800, -8, -0.25, 1, 8, 800])),
        max_size=10,
    ),
)
def test_whatever_is_nudged_the_curve_is_one_that_the_model_takes(
    channel: Channel, moves: list[tuple[int, int, float]]
) -> None:
    hand = Hand(mode="curve", channel=channel)
    correction = with_points(NEUTRAL, hand, BENT)
    for point, place, steps in moves:
        hand = renewed(hand, at=points_of(correction, hand)[point][0])
        before = points_of(correction, hand)
        try:
            correction, hand = nudged(correction, hand, place, steps)
        except PoiseError:  # it can't go that way: only where a neighbour or a limit stops it
            at = before[point][place]
            near = [before[other][place] for other in (point - 1, point + 1) if 0 <= other < len(before)]
            assert any(abs(at - stop) < 2e-4 for stop in (*near, -1, 4))
        checked(correction)
        assert points_of(correction, hand)[point][0] == hand.at
