"""Black, white, spread and cast held to limits."""

import numpy as np
import pytest

from poise.delivery.levels import faults
from poise.delivery.limits import load
from poise.scopes import measure

BASELINE = load("baseline")


def ramp(low: float, high: float, red: float = 0, blue: float = 0) -> np.ndarray:
    """Greys from one level to another in per cent, evenly, red and blue shifted."""
    grey = np.linspace(low, high, 20_000).reshape(100, 200, 1)
    return ((grey + np.array([red, 0, blue])) / 100).astype(np.float32)


def named(picture: np.ndarray) -> dict[str, float]:
    return {fault.fault: fault.value for fault in faults("quay_02.tif", measure(picture), BASELINE)}


def test_a_balanced_ramp_has_no_faults() -> None:
    assert named(ramp(1, 97)) == {}


@pytest.mark.parametrize(
    ("low", "high", "name", "value"),
    [
        (12, 97, "black-over", 12 + 0.005 * 85),
        (-9, 97, "black-under", -9 + 0.005 * 106),
        (1, 80, "white-under", 80 - 0.005 * 79),
        (1, 110, "white-over", 110 - 0.005 * 109),
    ],
)
def test_black_and_white_are_the_percentiles_of_a_half(low: float, high: float, name: str, value: float) -> None:
    found = named(ramp(low, high))
    assert list(found) == [name]
    assert found[name] == pytest.approx(value, abs=0.02)


def test_channels_apart_are_a_spread_and_a_cast() -> None:
    found = named(ramp(1, 90, red=7))
    assert (found["spread-bottom"], found["spread-top"]) == pytest.approx((7, 7), abs=0.01)
    # Cb and Cr of red 7 % higher, by the weights of ITU-R BT.709
    luma = 0.2126 * 7
    assert found["cast"] == pytest.approx(np.hypot(luma / 1.8556, (7 - luma) / 1.5748), abs=0.05)


def test_of_a_picture_without_numbers_just_that_is_told() -> None:
    assert named(np.full((4, 4, 3), np.nan, np.float32)) == {"invalid": 100}
    good = ramp(1, 97)
    good[50, 50, 2] = np.inf
    assert named(good) == {"invalid": pytest.approx(0.005)}
