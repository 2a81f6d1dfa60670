"""A sequence over its frames: gaps are faults, drift and flicker cautions."""

from pathlib import Path

import numpy as np

from poise.delivery.limits import load
from poise.delivery.over_frames import faults, gaps
from poise.frames import Shot
from poise.scopes import Readings, measure

BASELINE = load("baseline")


def grey(level: float) -> Readings:
    return measure(np.full((2, 2, 1), level / 100, np.float32))


def test_missing_numbers_are_named() -> None:
    numbers = (1001, 1002, 1006, 1008)
    shot = Shot("pier.####.tif", Path("day"), tuple(Path(f"day/pier.{n}.tif") for n in numbers), True, numbers)
    (fault,) = gaps("day/pier.####.tif", shot)
    assert (fault.fault, fault.value, fault.limit, fault.unit) == ("gap", 4, 0, "frames")
    assert "1003-1005, 1007;" in fault.words


def test_a_ramp_drifts_by_what_it_rises() -> None:
    (fault,) = faults("pier", [(1001 + n, grey(40 + n)) for n in range(7)], BASELINE)
    assert (fault.fault, round(fault.value, 4), fault.caution) == ("drift", 6, True)
    assert fault.words.startswith("drifts +6.0 % in the middle over 7 frames")


def test_a_light_that_alternates_flickers_and_keeps_its_word_of_caution() -> None:
    found = {one.fault: one for one in faults("pier", [(n, grey(40 + 10 * (n % 2))) for n in range(12)], BASELINE)}
    assert found["flicker"].caution
    assert "this is no test for that" in found["flicker"].words


def test_a_steady_run_has_nothing_to_look_at() -> None:
    assert faults("pier", [(n, grey(40)) for n in range(12)], BASELINE) == []
    assert faults("pier", [], BASELINE) == []
