"""Editing a curve: whatever is done, the model takes the result; points are added where scipy's PCHIP runs."""

from contextlib import suppress

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator
from thorough import many

from poise.chain.curve_points import added, moved, removed
from poise.correction import Curves, checked
from poise.correction.controls import CURVE_HIGH, CURVE_LOW, MOST_POINTS
from poise.correction.model import Point
from poise.errors import PoiseError

STRAIGHT = ((0.0, 0.0), (1.0, 1.0))
LIFTED = ((0.0, 0.02), (0.25, 0.35), (0.42, 0.5), (1.0, 0.97))

steps = st.one_of(st.sampled_from([0.0, 0.005, -0.005, 1e-4, -1e-4, 9.0, -9.0]), st.floats(-1, 1))
edits = st.one_of(
    st.tuples(st.just("move"), st.integers(0, 6), steps, steps),
    st.tuples(st.just("add"), st.floats(-1.5, 4.5) | st.floats(0, 1)),
    st.tuples(st.just("remove"), st.integers(0, 6)),
)


@st.composite
def curves(draw: st.DrawFn) -> tuple[Point, ...]:
    """Points that the model takes, some of them unrounded, some as near as they may be."""
    count = draw(st.integers(2, 6))
    inputs = sorted(draw(st.lists(st.floats(CURVE_LOW, CURVE_HIGH), min_size=count, max_size=count)))
    outputs = sorted(draw(st.lists(st.floats(CURVE_LOW, CURVE_HIGH), min_size=count, max_size=count)))
    points: list[Point] = []
    for x, y in zip(inputs, outputs, strict=True):
        if not points or x - points[-1][0] >= 1e-4:
            points.append((x, y))
    return tuple(points) if len(points) > 1 else STRAIGHT


@settings(max_examples=many(120, 400), deadline=None)
@given(st.sampled_from([STRAIGHT, LIFTED]) | curves(), st.lists(edits, max_size=25))
def test_any_edits_leave_a_valid_curve(points: tuple[Point, ...], done: list[tuple]) -> None:
    for kind, *arguments in done:
        before = points
        with suppress(PoiseError):
            points = {"move": moved, "add": added, "remove": removed}[kind](points, *arguments)
        if points is before:
            continue
        assert checked(Curves(master=points)).master == points
        assert len(points) - len(before) == {"move": 0, "add": 1, "remove": -1}[kind]
        kept = set(before) & set(points)
        assert len(kept) >= min(len(before), len(points)) - (kind == "move")


@settings(max_examples=many(80, 200), deadline=None)
@given(curves(), st.floats(CURVE_LOW, CURVE_HIGH))
def test_a_point_is_added_on_the_curve_itself(points: tuple[Point, ...], x: float) -> None:
    if min(abs(round(x, 12) - there) for there, _ in points) < 1e-4:
        with pytest.raises(PoiseError, match="a point stands at"):
            added(points, x)
        return
    more = added(points, x)
    (new,) = set(more) - set(points)
    inputs, outputs = np.array(points).T
    pchip = PchipInterpolator(inputs, outputs)
    end = np.clip(x, inputs[0], inputs[-1])
    straight_on = pchip(end) + pchip.derivative()(end) * (x - end)
    assert new[0] == pytest.approx(x, abs=1e-12)
    # x is kept to the twelfth decimal, so a steep curve may differ by that much times its slope
    assert new[1] == pytest.approx(np.clip(straight_on, CURVE_LOW, CURVE_HIGH), abs=1e-6)


def test_there_and_back_is_the_same_curve() -> None:
    assert moved(moved(LIFTED, 1, 0.1, 0.05), 1, -0.1, -0.05) == LIFTED
    assert removed(added(LIFTED, 0.7), 3) == LIFTED


def test_a_point_stops_at_its_neighbours() -> None:
    after = moved(LIFTED, 1, 9, 9)
    assert after[1] == pytest.approx((0.42 - 1e-4, 0.5))
    assert after[1][0] < after[2][0]
    after = moved(LIFTED, 2, -9, -9)
    assert after[2] == pytest.approx((0.25 + 1e-4, 0.35))


def test_ends_move_within_the_limits() -> None:
    assert moved(STRAIGHT, 0, 0.1, 0)[0] == (0.1, 0.0)
    assert moved(STRAIGHT, 0, -9, -9)[0] == (CURVE_LOW, CURVE_LOW)
    assert moved(STRAIGHT, 1, 9, 9)[1] == (CURVE_HIGH, CURVE_HIGH)
    assert moved(STRAIGHT, 1, 0, -0.1)[1] == (1.0, 0.9)


def test_one_way_barred_the_other_goes_on() -> None:
    close = moved(LIFTED, 1, 9, 0)
    assert moved(close, 1, 0.1, 0.05)[1] == (close[1][0], 0.4)


@pytest.mark.parametrize(
    ("edit", "reason"),
    [
        (lambda: moved(moved(LIFTED, 1, 9, 0), 1, 0.01, 0), "can't fold back: the next point stands at 0.42"),
        (lambda: moved(moved(LIFTED, 1, -9, 0), 1, -0.01, 0), "can't fold back: the previous point stands at 0"),
        (lambda: moved(moved(LIFTED, 1, 0, 9), 1, 0, 0.01), "can't fall: the next point stands at 0.5"),
        (lambda: moved(moved(STRAIGHT, 1, 9, 0), 1, 0.1, 0), "inputs end at 4"),
        (lambda: moved(moved(STRAIGHT, 0, 0, -9), 0, 0, -0.1), "outputs end at -1"),
        (lambda: moved(STRAIGHT, 2, 0.1, 0), "no point 3: the curve has 2"),
        (lambda: moved(STRAIGHT, -1, 0.1, 0), "no point"),
        (lambda: moved(STRAIGHT, 0, float("nan"), 0), "finite"),
        (lambda: added(LIFTED, 0.42), "a point stands at 0.42 already"),
        (lambda: added(LIFTED, 0.42005), "a point stands at 0.42 already"),
        (lambda: added(LIFTED, 4.1), "between -1 and 4"),
        (lambda: added(LIFTED, float("nan")), "between -1 and 4"),
        (lambda: added(tuple((i / 255, i / 255) for i in range(MOST_POINTS)), 0.501), "at most 256"),
        (lambda: removed(STRAIGHT, 0), "needs two points"),
        (lambda: removed(LIFTED, 4), "no point 5"),
    ],
)
def test_what_can_t_be_done_says_why(edit, reason: str) -> None:
    with pytest.raises(PoiseError, match=reason):
        edit()


def test_an_end_may_go() -> None:
    assert removed(LIFTED, 0) == LIFTED[1:]
    assert removed(LIFTED, 3) == LIFTED[:-1]
