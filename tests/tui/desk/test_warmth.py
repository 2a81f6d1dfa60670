"""Warmth at its limits: it goes on by red and blue of the highlights, and comes back the same way."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from poise.colour.adaptation import light_matrix
from poise.colour.transfer import encode
from poise.correction import NEUTRAL, Balance, Correction, Light, checked
from poise.correction.controls import WARMTH
from poise_tui.desk import Hand, column

HAND = Hand()
COLUMN = column(HAND, 4)
assert COLUMN is not None


def pressed(correction: Correction, *steps: float) -> Correction:
    for by in steps:
        correction = COLUMN.nudged(correction, HAND, by)
    return checked(correction)


def test_within_its_limits_warmth_alone_moves() -> None:
    assert pressed(NEUTRAL, *[-1] * 28) == Correction(light=Light(warmth=WARMTH.low))
    assert pressed(NEUTRAL, *[8] * 7, 4) == Correction(light=Light(warmth=WARMTH.high))


@pytest.mark.parametrize(("limit", "way"), [(WARMTH.low, -1), (WARMTH.high, +1)])
def test_at_a_limit_red_and_blue_of_the_highlights_go_on(limit: float, way: int) -> None:
    start = Correction(light=Light(warmth=limit), balance=Balance(offset=(0.02, 0.02, 0.02)))
    after = pressed(start, way, way)
    assert after.light == start.light
    by = 1.01 ** (2 * way)
    assert after.balance.slope == (pytest.approx(by), 1, pytest.approx(1 / by))
    assert after.balance.offset == (pytest.approx(0.02 * by), 0.02, pytest.approx(0.02 / by))  # black is held
    assert COLUMN.read(after, HAND) == (f"{limit:+.1f}", "mired *")
    assert COLUMN.note(start, after) == (
        f"warmth ends at {limit:+g} mired: from there on red and blue of the highlights move"
    )
    assert COLUMN.home(after, HAND).light == Light()
    assert COLUMN.home(after, HAND).balance.slope == pytest.approx((1, 1, 1), abs=1e-11)


@given(st.floats(-140, 300), st.lists(st.sampled_from([-8, -4, -1, -0.25, 0.25, 1, 4, 8]), max_size=12))
@settings(max_examples=100)
def test_the_way_back_is_the_way_there(warmth: float, moves: list[float]) -> None:
    start = Correction(light=Light(warmth=round(warmth, 1)))
    back = pressed(start, *moves, -sum(moves))
    assert back.light.warmth == pytest.approx(start.light.warmth, abs=1e-6)
    assert back.balance.slope == pytest.approx((1, 1, 1), abs=1e-6)


def test_it_ends_where_auto_ends() -> None:
    for way in (-1, +1):
        slope = pressed(NEUTRAL, way * 1000).balance.slope
        assert max(slope) == pytest.approx(2.5, abs=0.01)
        assert pressed(NEUTRAL, way * 1000, way) == pressed(NEUTRAL, way * 1000)


def test_a_step_beyond_is_about_a_step_of_warmth() -> None:
    """In the code (IEC 61966-2-1) of a light grey: warmth's own matrix on one side, one step beyond on the other."""
    grey = light_matrix(WARMTH.step) @ np.full(3, 0.5)
    red, green, blue = encode("sRGB", grey) / encode("sRGB", np.full(3, 0.5))
    after = pressed(Correction(light=Light(warmth=WARMTH.high)), +1).balance.slope
    assert after[0] / after[2] == pytest.approx(red / blue, rel=0.005)
    assert green == pytest.approx(after[1], rel=0.002)


def test_what_was_balanced_by_hand_elsewhere_is_left_alone() -> None:
    start = Correction(light=Light(warmth=20), balance=Balance((1.1, 1, 0.9)))
    assert pressed(start, +1) == replace(start, light=Light(warmth=25))
