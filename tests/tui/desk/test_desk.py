"""The desk: a key moves exactly what the correction's own nudge moves; home keys hold what their zone holds."""

import msgspec
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from poise.correction import (
    CODED,
    CONTROLS,
    LINEAR,
    NEUTRAL,
    Balance,
    Correction,
    Levels,
    Light,
    Zone,
    checked,
    nudge,
)
from poise.correction import controls as c
from poise.engine import reference
from poise.frames.frame import Depth
from poise.sidecar.decision import UNDECIDED, Decision
from poise_tui.desk import MODES, STEPS, Hand, balance, banks, column, is_neutral, readout, zoned

MIXED = Balance((1.2, 0.9, 1.0), (0.04, -0.03, 0.0), (1.1, 0.8, 1.0))


def through(balance: Balance, channel: int, code: float) -> float:
    """Slope and offset of ASC CDL v1.2, before its power."""
    return balance.slope[channel] * code + balance.offset[channel]


def reaching(balance: Balance, channel: int, level: float) -> float:
    """The code that slope and offset send to a level."""
    return (level - balance.offset[channel]) / balance.slope[channel]


@pytest.mark.parametrize("zone", list(Zone))
@pytest.mark.parametrize("size", STEPS)
def test_balance_columns_nudge_as_the_correction_does(zone: Zone, size: float) -> None:
    hand = Hand(zone=zone)
    for place, channels in ((0, (0,)), (1, (1,)), (2, (2,)), (3, (0, 1, 2))):
        for direction in (+1, -1):
            found = column(hand, place).nudged(Correction(balance=MIXED), Hand(zone=zone), direction * size)
            assert found == Correction(balance=nudge(MIXED, zone, channels, direction * size))


def test_home_of_shadows_brings_black_to_zero_and_holds_white() -> None:
    for place in range(3):
        hand = Hand(zone=Zone.SHADOWS)
        home = column(hand, place).home(Correction(balance=MIXED), hand).balance
        assert through(home, place, 0) == 0
        assert reaching(home, place, 1) == pytest.approx(reaching(MIXED, place, 1), abs=1e-9)
        others = [i for i in range(3) if i != place]
        assert [(home.slope[i], home.offset[i]) for i in others] == [(MIXED.slope[i], MIXED.offset[i]) for i in others]
        assert home.power == MIXED.power


def test_home_of_highlights_brings_white_to_one_and_holds_black() -> None:
    for place in range(3):
        hand = Hand(zone=Zone.HIGHLIGHTS)
        home = column(hand, place).home(Correction(balance=MIXED), hand).balance
        assert through(home, place, 1) == pytest.approx(1, abs=1e-9)
        assert reaching(home, place, 0) == pytest.approx(reaching(MIXED, place, 0), abs=1e-9)
        assert home.power == MIXED.power


def test_home_of_midtones_is_the_power_and_of_the_whole_trace_everything() -> None:
    level = column(Hand(zone=Zone.MIDTONES), 3)
    home = level.home(Correction(balance=MIXED), Hand(zone=Zone.MIDTONES)).balance
    assert home == replace(MIXED, power=(1.0, 1.0, 1.0))
    assert column(Hand(), 3).home(Correction(balance=MIXED), Hand()) == NEUTRAL


@given(
    st.sampled_from([Zone.SHADOWS, Zone.HIGHLIGHTS, Zone.MIDTONES]),
    st.lists(st.sampled_from([-8, -4, -1, -0.25, 0.25, 1, 4, 8]), max_size=12),
)
def test_home_takes_back_whatever_its_zone_was_nudged(zone: Zone, moves: list[float]) -> None:
    red, correction = column(Hand(zone=zone), 0), NEUTRAL
    for steps in moves:
        correction = red.nudged(correction, Hand(zone=zone), steps)
    home = red.home(correction, Hand(zone=zone)).balance
    values = [*home.slope, *home.offset, *home.power]
    assert values == pytest.approx([1, 1, 1, 0, 0, 0, 1, 1, 1], abs=1e-9)


def test_every_control_has_a_column_and_one_step_of_it() -> None:
    """Steps as the one table of controls says: added, or multiplied where it is a ratio."""
    plain = {control.name: control for control in CONTROLS}
    columns = {one.name: (0, place) for place, one in enumerate(balance.FIRST)}
    columns |= {one.name: (1, place) for place, one in enumerate(balance.SECOND)}
    columns |= {"flare": (1, 3), "black point": (1, 4), "white point": (1, 5), "toe": (0, 9)}
    down = {"black point", "white point", "flare", "flare in code"}  # a smaller number raises the trace
    for name in plain.keys() - {"slope", "offset", "power"}:
        bank, place = columns[name]
        zone = Zone.SHADOWS if name == "toe" else Zone.WHOLE
        control = plain[name]
        raised = column(Hand(bank, zone), place).nudged(NEUTRAL, Hand(zone=zone), -1 if name in down else +1)
        value = msgspec.to_builtins(raised)
        for key in control.path.split("."):
            value = value[key]
        value = value if name != "flare" else value[0]
        step = control.step
        assert value == pytest.approx(control.neutral * step if control.ratio else control.neutral + step), name
        assert column(Hand(bank, zone), place).home(raised, Hand(zone=zone)) == NEUTRAL


@given(st.floats(-1, 0.95), st.floats(0.05, 4), st.lists(st.sampled_from([-4000, -8, -1, 1, 8, 4000]), max_size=6))
@settings(max_examples=300)
def test_black_and_white_point_never_meet(black: float, white: float, moves: list[float]) -> None:
    black, white = round(black, 3), round(white, 3)
    correction = replace(NEUTRAL, levels=Levels(min(black, round(white - c.LEAST_RANGE, 3)), white))
    for steps in moves:
        for place in (0, 1):
            correction = column(Hand(1), 4 + place).nudged(correction, Hand(), steps)
            levels = checked(correction).levels
            assert round(levels.white - levels.black, 9) >= c.LEAST_RANGE
    for place in (0, 1):
        checked(column(Hand(1), 4 + place).home(correction, Hand()))


def test_black_point_stops_below_white() -> None:
    correction = replace(NEUTRAL, levels=Levels(0.0, 0.3))
    assert column(Hand(1), 4).nudged(correction, Hand(), -1000).levels == Levels(0.28, 0.3)
    correction = replace(NEUTRAL, levels=Levels(0.5, 1.0))
    assert column(Hand(1), 5).nudged(correction, Hand(), 1000).levels == Levels(0.5, 0.52)


@pytest.mark.parametrize(("steps", "ends"), [(+100_000, "high"), (-100_000, "low")])
def test_nudges_stop_at_the_limits(steps: float, ends: str) -> None:
    plain = {control.name: control for control in CONTROLS}
    for one in balance.FIRST[4:]:
        decision = checked(one.nudged(NEUTRAL, Hand(), steps if not plain[one.name].ratio else steps / 50))
        text, _ = one.read(decision, Hand())
        assert float(text) == pytest.approx(getattr(plain[one.name], ends), abs=0.005), one.name


def test_to_raise_flare_raises_the_bottom_of_the_trace_and_holds_white() -> None:
    ends = np.array([[0.1, 0.1, 0.1], [1, 1, 1]])
    before = Correction(light=Light(flare=(0.05, 0.06, 0.07), flare_in_code=0.5))

    def trace(correction: Correction) -> np.ndarray:
        return reference(ends, correction, CODED, Depth.FLOAT)

    for place, channels in ((0, (0,)), (1, (1,)), (2, (2,)), (3, (0, 1, 2))):
        raised, lowered = (column(Hand(1), place).nudged(before, Hand(), steps) for steps in (+1, -1))
        rest = [i for i in range(3) if i not in channels]
        for i in channels:
            assert trace(lowered)[0, i] < trace(before)[0, i] < trace(raised)[0, i]
        assert np.array_equal(trace(raised)[:, rest], trace(before)[:, rest])
        np.testing.assert_allclose([trace(raised)[1], trace(lowered)[1]], 1, atol=1e-7)
        home = column(Hand(1), place).home(before, Hand()).light
        assert [home.flare[i] for i in range(3)] == [0 if i in channels else before.light.flare[i] for i in range(3)]
        assert home.flare_in_code == 0.5
    assert [column(Hand(1), place).coloured for place in range(4)] == [True, True, True, False]
    assert readout(Hand(1), 2, Decision(correction=before)) == ("flare blue", "+0.070", "code")
    assert readout(Hand(1), 3, Decision(correction=before)) == ("flare all", "~+0.060", "code")
    assert readout(Hand(1), 7, Decision(correction=before)) == ("flare in code", "0.500", "share")
    for place in range(4):
        for steps in (-1000, 1000):
            checked(column(Hand(1), place).nudged(before, Hand(), steps))


def test_a_column_is_where_the_hand_says() -> None:
    assert [column(Hand(), place).name for place in range(10)] == [
        *("red", "green", "blue", "level", "warmth", "magenta", "exposure", "contrast", "saturation", "shoulder")
    ]
    assert column(Hand(zone=Zone.SHADOWS), 9).name == "toe"
    assert [column(Hand(1), place) and column(Hand(1), place).name for place in range(10)] == [
        *("flare red", "flare green", "flare blue", "flare all", "black", "white", "pivot", "flare in code", None, None)
    ]
    for mode in MODES:  # a press meant for warmth must not make the delivery another code
        for each, bank in enumerate(banks(mode)):
            for place in range(len(bank.columns)):
                found = column(Hand(each, mode=mode), place)
                assert found is None or found.name not in ("source", "delivery", "range")
    assert [bank.name for bank in banks("balance")] == ["balance", "flare, levels"]


def test_the_zone_matters_where_a_column_moves_it() -> None:
    lit = {(mode, bank.name) for mode in MODES for each, bank in enumerate(banks(mode)) if zoned(Hand(each, mode=mode))}
    desks = {(mode, "balance") for mode in ("balance", "pick", "drift", "reel")}
    assert lit == desks | {("matte", "inside")}


RAMP = np.linspace(0.05, 0.95, 19)[:, None].repeat(3, axis=1)
STARTS = (
    Correction(levels=Levels(0.1, 0.9, 1.3, 0.4), light=Light(flare=(0.05, 0.05, 0.05), flare_in_code=0.5)),
    Correction(levels=Levels(0.0, 1.0, 0.7, 0.5), light=Light(flare=(0.05, 0.05, 0.05), flare_in_code=0.5)),
)


@pytest.mark.parametrize("start", STARTS)
@pytest.mark.parametrize("zone", list(Zone))
def test_to_raise_raises_the_trace_in_both_banks(start: Correction, zone: Zone) -> None:
    """Through the chain in plain float64; no value between the ends falls, and some rise, whatever the number does."""
    raised = [(0, place) for place in (0, 1, 2, 3, 6)] + [(1, place) for place in range(8)]
    for bank, place in raised:
        hand = Hand(bank, zone)
        found = column(hand, place)
        assert found is not None
        there, up, down = (
            reference(RAMP, each, CODED, Depth.FLOAT)
            for each in (start, found.nudged(start, hand, +1), found.nudged(start, hand, -1))
        )
        inside = (there >= 0) & (there <= 1)  # beyond an end, what turns about that end goes the other way
        assert (up >= there - 1e-5)[inside].all(), found.name
        assert (down <= there + 1e-5)[inside].all(), found.name
        assert (up > there + 1e-4)[inside].any(), found.name
        assert (down < there - 1e-4)[inside].any(), found.name


def test_what_a_column_reads() -> None:
    decision = Decision(correction=Correction(balance=MIXED, levels=Levels(0.05), saturation=1.2))
    assert readout(Hand(zone=Zone.SHADOWS), 0, decision) == ("red", "+0.040", "offset *")
    assert readout(Hand(zone=Zone.MIDTONES), 1, decision) == ("green", "0.800", "power *")
    assert readout(Hand(zone=Zone.HIGHLIGHTS), 3, decision) == ("level", "~1.033", "slope *")
    assert readout(Hand(), 6, UNDECIDED) == ("exposure", "+0.00", "stops")
    assert readout(Hand(), 8, decision) == ("saturation", "1.200", "x")
    assert readout(Hand(1), 4, decision) == ("black", "0.050", "code")
    assert readout(Hand(1), 9, decision) == ("", "", "")


def test_a_column_is_neutral_when_home_changes_nothing() -> None:
    for bank in (0, 1):
        assert all(is_neutral(Hand(bank), place, UNDECIDED) for place in range(10))
    moved = Decision(correction=Correction(balance=replace(Balance(), power=(1.1, 1.0, 1.0))), encoding=LINEAR)
    assert not is_neutral(Hand(zone=Zone.MIDTONES), 0, moved)
    assert is_neutral(Hand(zone=Zone.SHADOWS), 0, moved)
    assert is_neutral(Hand(zone=Zone.MIDTONES), 1, moved)
