"""Drift and flicker: against scipy's Theil-Sen line, and on runs whose drift, jumps and steps are known."""

import math
from typing import Any

import numpy as np
import numpy.typing as npt
import pytest
from scipy.stats import theilslopes
from skimage import data

from poise.scopes import measure
from poise.scopes.course import Course, levels, levels_of
from poise.scopes.drift import departures, drift, theil_sen
from poise.scopes.words import CAUTION, describe

NUMBERS = np.arange(1001, 1049)
RAMP = np.linspace(0, 6.1, 48)
JUMP = 5.0 * (NUMBERS == 1017)


def course(middle: npt.ArrayLike, numbers: npt.NDArray[Any] = NUMBERS) -> Course:
    """Black 30 below the middle and white 30 above it, all channels alike."""
    run = np.asarray(middle, np.float64)[:, None, None]
    return Course(numbers, 40 + run * np.ones((1, 4, 3)) + np.array([-30, 0, 30]))


def test_the_line_is_scipys_over_gaps_and_outliers() -> None:
    rng = np.random.default_rng(3)
    at = np.sort(rng.choice(5000, 60, replace=False))
    values = np.cumsum(rng.normal(0.1, 1, (60, 3)), axis=0)
    values[::7] += 40
    expected = [theilslopes(column, at).slope for column in values.T]
    assert theil_sen(at, values) == pytest.approx(expected, abs=1e-12)


def test_thousands_of_frames_go_by_an_even_choice_of_them() -> None:
    at = np.arange(5000)
    noise = np.random.default_rng(4).normal(0, 1, (5000, 1))
    assert theil_sen(at, 0.01 * at[:, None] + noise) == pytest.approx([0.01], abs=1e-4)


def test_a_known_ramp_is_told_to_the_last_digit() -> None:
    found = drift(course(RAMP))
    assert found is not None
    assert found.drift == pytest.approx(np.full((4, 3), 6.1), abs=1e-9)
    assert (found.rms, found.wander) == (pytest.approx(0, abs=1e-9), pytest.approx(0, abs=1e-9))
    assert (found.jumps, found.steps) == ((), ())
    assert describe(found) == ("drifts +6.1 % in the middle over 48 frames (black +6.1, white +6.1)", "no flicker")


@pytest.mark.parametrize("number", [1001, 1002, 1017, 1047, 1048])
def test_a_known_jump_on_a_ramp_leaves_the_ramp_as_it_is(number: int) -> None:
    found = drift(course(RAMP + 5.0 * (number == NUMBERS)))
    assert found is not None
    assert found.drift[0, 1] == pytest.approx(6.1, abs=0.02)
    assert [(one.number, one.series) for one in found.jumps] == [(number, "luma")]
    assert found.jumps[0].amount == pytest.approx(5, abs=0.02)
    assert found.peak.number == number
    assert found.rms == pytest.approx(5 / math.sqrt(48), abs=0.02)
    assert found.departures[number - 1001] == pytest.approx(5, abs=0.02)


def test_a_light_that_alternates_flickers_by_half_of_what_it_swings() -> None:
    """A square wave of 5 from peak to peak has an rms of 2.5 about its mean; a running median would follow it."""
    found = drift(course(5.0 * (NUMBERS % 2)))
    assert found is not None
    assert found.rms == pytest.approx(2.5, abs=0.02)
    assert found.drift[0, 1] == pytest.approx(0, abs=1e-9)
    assert found.jumps == ()  # where all frames jump none stands out


def test_a_lasting_step_is_neither_drift_nor_flicker() -> None:
    found = drift(course(RAMP + 10.0 * (NUMBERS >= 1021)))
    assert found is not None
    assert [one.number for one in found.steps] == [1021]
    assert found.steps[0].amount == pytest.approx(10, abs=0.6)
    assert found.drift[0, 1] == pytest.approx(6.1, abs=0.6)
    assert found.rms < 0.1
    assert found.jumps == ()


def test_two_frames_of_lightning_jump_and_are_no_step() -> None:
    found = drift(course(8.0 * ((NUMBERS == 1020) | (NUMBERS == 1021))))
    assert found is not None
    assert ([one.number for one in found.jumps], found.steps) == ([1020, 1021], ())


def test_a_cloud_that_comes_and_goes_wanders() -> None:
    found = drift(course(10 * np.sin(np.linspace(0, math.pi, 48))))
    assert found is not None
    assert abs(found.drift[0, 1]) < 0.5
    assert describe(found) == ("no drift over 48 frames", "wanders 9.8 % about that", "no flicker")


def test_a_jump_of_one_colour_and_a_drift_between_colours_are_named() -> None:
    base = course(np.zeros(48)).levels
    base[:, 1] += np.linspace(0, 2, 48)[:, None]  # red
    base[16, 3] += 3  # blue
    found = drift(Course(NUMBERS, base))
    assert found is not None
    assert describe(found) == (
        "no drift over 48 frames",
        "colour drifts: red +2.0 %, blue +0.0 % against green",
        "no flicker",
        "one frame jumps: 1017 (blue +3.0 %)",
    )


def test_frames_that_are_not_known_are_left_out() -> None:
    run = course(RAMP + JUMP)
    run.levels[[3, 20]] = math.nan
    found = drift(run)
    assert found is not None
    assert (found.frames, found.numbers) == (46, (1001, 1048))
    assert found.drift[0, 1] == pytest.approx(6.1, abs=0.02)
    assert np.flatnonzero(np.isnan(found.departures)).tolist() == [3, 20]
    assert [one.number for one in found.jumps] == [1017]


def test_two_frames_have_a_drift_and_one_has_none() -> None:
    found = drift(course([0, 1], NUMBERS[:2]))
    assert found is not None
    assert describe(found) == (
        "drifts +1.0 % in the middle over 2 frames (black +1.0, white +1.0)",
        "flicker shows from three frames on",
    )
    assert found.to_json()["flicker"]["rms"] is None
    assert drift(course([0], NUMBERS[:1])) is None
    assert drift(Course(NUMBERS, np.full((48, 4, 3), math.nan))) is None


@pytest.mark.parametrize("flashing", [4.6 * (NUMBERS % 2), 5.0 * (NUMBERS % 10 == 0), 5.0 * (NUMBERS % 5 == 0)])
def test_what_may_flash_is_told_with_caution(flashing: npt.NDArray[np.float64]) -> None:
    found = drift(course(flashing))
    assert found is not None
    assert describe(found)[-1] == CAUTION
    assert CAUTION not in describe(found, whole=False)


@pytest.mark.parametrize("calm", [RAMP, RAMP + JUMP, 4.0 * (NUMBERS % 2), 10.0 * (NUMBERS > 1020)])
def test_there_is_no_word_of_it_where_nothing_flashes_but_none_that_it_is_safe(calm: npt.NDArray[np.float64]) -> None:
    found = drift(course(calm))
    assert found is not None
    assert not any("caution" in one or "safe" in one for one in describe(found))


def test_many_frames_that_jump_are_named_in_part() -> None:
    found = drift(course(6.0 * (NUMBERS % 5 == 0)))
    assert found is not None
    assert len(found.jumps) == 9
    (jumps,) = [one for one in describe(found) if "frames jump" in one]
    assert jumps.startswith("9 frames jump: 1005 (+6.0 %), 1010 (+6.0 %)")
    assert jumps.endswith(" and 1 more")


def test_departures_are_those_of_a_plain_median_in_the_middle() -> None:
    values = np.random.default_rng(5).normal(0, 1, (30, 2))
    found = departures(values)
    for place in range(4, 26):
        around = [*range(place - 4, place), *range(place + 1, place + 5)]
        assert found[place] == pytest.approx(values[place] - np.median(values[around], axis=0))


def test_the_levels_of_a_photograph_are_its_readings() -> None:
    """Coffee by Pikolo Espresso Bar (skimage.data); float readings are exact, as those are taken here."""
    picture = data.coffee()[::4, ::4].astype(np.float32) / 255
    assert levels(picture) == pytest.approx(levels_of(measure(picture)), abs=1e-4)
    assert np.isnan(levels(np.full((2, 2, 3), np.nan, np.float32))).all()
