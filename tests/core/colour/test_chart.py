"""The published values of the chart."""

import numpy as np
import pytest

from poise.colour.chart import NEUTRALS, names, published_lab, published_light
from poise.colour.difference import lab


# The maker's L*a*b* of 2005 under D50, from memory.
@pytest.mark.parametrize(
    ("patch", "value"),
    [
        ("dark skin", (37.99, 13.56, 14.06)),
        ("blue", (28.78, 14.18, -50.30)),
        ("white 9.5", (96.54, -0.43, 1.19)),
        ("black 2", (20.46, -0.08, -0.97)),
    ],
)
def test_values_are_those_of_the_maker(patch: str, value: tuple[float, float, float]) -> None:
    np.testing.assert_allclose(published_lab()[names().index(patch)], value, atol=0.03)


def test_light_and_lab_say_the_same() -> None:
    np.testing.assert_allclose(lab(published_light("ITU-R BT.2020"), "ITU-R BT.2020"), published_lab(), atol=1e-6)
    assert np.all(np.diff(published_light("ITU-R BT.709")[NEUTRALS, 1]) < 0)
