"""Columns of a matte: hue ends that go round, ranges that never cross, and the correction inside."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from poise.chain.matte import hue_membership
from poise.correction import CONTROLS, NEUTRAL, Correction, Inside, Interval, Matte, Zone, checked, nudge
from poise.correction.controls import HUE_HIGH, HUE_LOW, MATTE_CONTROLS
from poise.correction.model import HueInterval
from poise.errors import PoiseError
from poise.sidecar.decision import Decision
from poise_tui.desk import Hand, banks, column, is_neutral, readout
from poise_tui.desk.column import Column, got
from poise_tui.desk.matte import MATTE, matte_of, with_matte

RANGE, EDGE, WITHIN = (Hand(bank, mode="matte") for bank in range(3))
LOW, HIGH = 0, 1
"""Places of the ends of the hue range in its bank."""
SAIL, BUOY = Matte("sail", inside=Inside(exposure=1)), Matte("buoy")
DEGREES = np.arange(0.05, 360, 0.1)
STEPS = st.sampled_from([-400.0, -45.0, -8.0, -1.0, -0.25, 0.25, 1.0, 8.0, 45.0, 400.0])


def nudged(matte: Matte, hand: Hand, place: int, steps: float) -> Matte:
    found = column(hand, place)
    assert found is not None
    return found.nudged(Correction(mattes=(matte,)), hand, steps).mattes[0]


def widened(matte: Matte, place: int, steps: float) -> Matte:
    """With an end of the hue range moved outwards: raised, or lowered where it is the low one."""
    return nudged(matte, RANGE, place, -steps if place == LOW else steps)


def taken(hue: HueInterval) -> float:
    """Degrees that a range takes, counted in tenths by the matte's own membership."""
    return float(hue_membership(DEGREES, replace(hue, soft=0.0)).sum()) / 10


def controlled(control_path: str) -> tuple[Hand, int, Column]:
    """Where the column of a control of a matte is: by what it moves, not by its name."""
    matte = Matte("fog", hue=HueInterval(40, 80), chroma=Interval(0.2, 0.6), luma=Interval(0.2, 0.6))
    for bank in range(len(banks("matte"))):
        hand = Hand(bank, mode="matte")
        for place in range(10):
            found = column(hand, place)
            if found and got(nudged(matte, hand, place, 1), control_path) != got(matte, control_path):
                return hand, place, found
    raise AssertionError(f"no column moves {control_path}")


@pytest.mark.parametrize("control", MATTE_CONTROLS, ids=lambda control: control.path)
def test_every_control_of_a_matte_has_a_column_that_moves_one_step_of_it(control: object) -> None:
    matte = Matte("fog", hue=HueInterval(40, 80), chroma=Interval(0.2, 0.6), luma=Interval(0.2, 0.6))
    path, step = control.path, control.step  # type: ignore[attr-defined]
    hand, place, _ = controlled(path)
    for direction in (+1, -1):
        before = got(matte, path)
        wanted = before + direction * step
        limits = control.low, control.high  # type: ignore[attr-defined]
        assert got(nudged(matte, hand, place, direction), path) == pytest.approx(min(max(wanted, limits[0]), limits[1]))


def test_a_column_names_the_unit_of_its_control() -> None:
    for control in MATTE_CONTROLS:
        hand, place, _ = controlled(control.path)
        value, unit = readout(hand, place, Decision(Correction(mattes=(BUOY,))))[1:]
        assert float(value) == control.neutral
        assert unit == control.unit


def test_ends_of_the_hue_range_go_round() -> None:
    red = Matte("sail", hue=HueInterval(4, 20))
    assert widened(red, LOW, 4).hue == HueInterval(356, 20)
    assert widened(red, LOW, -4).hue == HueInterval(12, 20)
    blue = Matte("sea", hue=HueInterval(340, 356))
    assert widened(blue, HIGH, 4).hue == HueInterval(340, 4)
    assert widened(widened(blue, HIGH, 4), HIGH, -4).hue == blue.hue


def test_a_range_has_no_less_than_no_width_and_no_more_than_the_circle() -> None:
    sea = Matte("sea", hue=HueInterval(340, 356, 10))
    assert widened(sea, LOW, -1000).hue == HueInterval(356, 356, 10)
    assert widened(sea, HIGH, -1000).hue == HueInterval(340, 340, 10)
    for place in (LOW, HIGH):
        assert widened(sea, place, +1000).hue == HueInterval(0, 360, 10)
        assert widened(Matte("all"), place, +1).hue == HueInterval(0, 360)


@pytest.mark.parametrize("place", [LOW, HIGH])
def test_all_of_the_circle_narrows_to_no_width_and_widens_back(place: int) -> None:
    matte, widths = Matte("all"), []
    for _ in range(181):  # two degrees at a time
        matte = widened(matte, place, -1)
        widths.append(taken(matte.hue))
    # a range of no width takes the one angle that it stands at, which is none of these
    assert widths == pytest.approx([*range(358, -1, -2), 0], abs=0.2)
    for _ in range(181):
        matte = widened(matte, place, +1)
        widths.append(taken(matte.hue))
    assert widths[181:] == pytest.approx([*range(2, 361, 2), 360], abs=0.2)
    assert matte == Matte("all")


@given(st.floats(0, 360), st.floats(0, 360), st.lists(st.tuples(st.sampled_from([LOW, HIGH]), STEPS), max_size=8))
def test_a_nudge_changes_the_width_of_a_hue_range_by_its_step_within_the_circle(
    low: float, high: float, moves: list[tuple[int, float]]
) -> None:
    matte = Matte("sea", hue=HueInterval(round(low, 1), round(high, 1)))
    for place, steps in moves:
        before = taken(matte.hue)
        matte = widened(matte, place, steps)
        checked(matte)
        assert taken(matte.hue) == pytest.approx(min(max(before + 2 * steps, 0), 360), abs=0.25)


@given(
    st.floats(0, 1), st.floats(0, 1), st.sampled_from(["chroma", "luma"]),
    st.lists(st.tuples(st.sampled_from(["low", "high"]), STEPS), max_size=8),
)  # fmt: skip
def test_low_never_passes_high(low: float, high: float, part: str, moves: list[tuple[str, float]]) -> None:
    low, high = sorted((round(low, 3), round(high, 3)))
    matte = replace(BUOY, **{part: Interval(low, high, 0.1)})
    for end, steps in moves:
        hand, place, _ = controlled(f"{part}.{end}")
        matte = nudged(matte, hand, place, steps)
        range_ = getattr(checked(matte), part)
        assert 0 <= range_.low <= range_.high <= 1
        assert range_.soft == 0.1


def test_an_end_stops_at_the_other() -> None:
    matte = replace(BUOY, chroma=Interval(0.2, 0.3))
    for end, steps in (("low", 50), ("high", -50)):
        hand, place, found = controlled(f"chroma.{end}")
        met = nudged(matte, hand, place, steps).chroma
        assert met.low == met.high == (0.3 if end == "low" else 0.2)
        home = found.home(Correction(mattes=(matte,)), hand).mattes[0].chroma
        assert getattr(home, end) == (0 if end == "low" else 1)


def test_home_is_neutral_for_every_column_and_home_of_a_hue_end_takes_every_hue() -> None:
    matte = Matte(
        "fog", False, True, 0.01, 0.02, HueInterval(40, 80, 5), Interval(0.2, 0.6, 0.1), Interval(0.2, 0.6, 0.1),
        Inside(1.0, 20.0, 0.5),
    )  # fmt: skip
    correction = Correction(mattes=(matte,))
    for control in MATTE_CONTROLS:
        hand, place, found = controlled(control.path)
        assert not is_neutral(hand, place, Decision(correction))
        home = found.home(correction, hand)
        assert got(home.mattes[0], control.path) == control.neutral
        assert is_neutral(hand, place, Decision(home))
        if control in (HUE_LOW, HUE_HIGH):
            assert home.mattes[0] == replace(matte, hue=HueInterval(0, 360, 5))


@pytest.mark.parametrize("zone", list(Zone))
def test_balance_inside_is_nudged_as_that_of_the_shot_is(zone: Zone) -> None:
    hand = replaced(WITHIN, zone)
    for place, channels in ((0, (0,)), (1, (1,)), (2, (2,)), (3, (0, 1, 2))):
        found = nudged(BUOY, hand, place, 4)
        assert found == replace(BUOY, inside=Inside(balance=nudge(BUOY.inside.balance, zone, channels, 4)))


def replaced(hand: Hand, zone: Zone) -> Hand:
    return Hand(hand.bank, zone, mode="matte")


def test_what_acts_inside_lies_under_the_fingers_of_the_same_control_of_the_shot() -> None:
    paths = {control.path for control in CONTROLS}
    for path in ("exposure", "saturation"):
        hand, place, _ = controlled(f"inside.{path}")
        outer = next(one for one in paths if one.endswith(path))
        there = column(Hand(), place)
        assert there is not None
        assert got(there.nudged(NEUTRAL, Hand(), 1), outer) != got(NEUTRAL, outer)
        assert hand.bank == WITHIN.bank


def test_columns_move_the_matte_in_hand_alone() -> None:
    both = Correction(saturation=1.2, mattes=(SAIL, BUOY))
    hand = Hand(1, mode="matte", matte=1)
    found = column(hand, 0)
    assert found is not None
    after = found.nudged(both, hand, 1)
    assert after == replace(both, mattes=(SAIL, replace(BUOY, denoise=0.0005)))


def test_a_matte_still_to_be_made_reads_neutral_and_can_not_be_moved() -> None:
    for correction, hand in ((NEUTRAL, RANGE), (Correction(mattes=(SAIL,)), Hand(mode="matte", matte=1))):
        assert matte_of(correction, hand) is None
        for control in MATTE_CONTROLS:
            there, place, found = controlled(control.path)
            at = Hand(there.bank, mode="matte", matte=hand.matte)
            assert float(readout(at, place, Decision(correction))[1]) == control.neutral
            assert is_neutral(at, place, Decision(correction))
            with pytest.raises(PoiseError, match="no matte yet"):
                found.nudged(correction, at, 1)
            with pytest.raises(PoiseError, match="no matte yet"):
                MATTE.get(correction, at)


def test_on_a_grey_picture_only_luma_edge_and_level_are_not_coloured() -> None:
    """What follows hue or chroma, or tells channels apart, means nothing where there is one channel."""
    for control in MATTE_CONTROLS:
        _, _, found = controlled(control.path)
        apart = control.path.startswith(("hue.", "chroma.")) or control.path == "inside.turn"
        assert found.coloured is apart, control.path
    assert [column(WITHIN, place).coloured for place in range(4)] == [True, True, True, False]  # type: ignore[union-attr]


def test_a_matte_takes_the_place_of_the_one_in_hand_or_comes_behind() -> None:
    both = Correction(mattes=(SAIL, BUOY))
    lamp = Matte("lamp")
    assert with_matte(both, Hand(matte=0), lamp).mattes == (lamp, BUOY)
    assert with_matte(both, Hand(matte=9), lamp).mattes == (SAIL, BUOY, lamp)
