"""Auto on degraded photographs: nearer the original than doing nothing, and where the untouched photograph lands."""

from dataclasses import replace

import numpy as np
import pytest
from baselines import AUTO, NOTHING, PLAIN, by_auto
from degradations import DEGRADATIONS, recorded
from photographs import photographs
from recovered import Case, cases, figures

SOME = ("astronaut", "coffee", "motorcycle_left", "rocket")


@pytest.fixture(scope="module")
def some() -> list[Case]:
    named = [one for one in photographs(("skimage",)) if one.name in SOME]
    pictures = [replace(one, code=one.code[::3, ::3]) for one in named]  # auto looks at as few pixels anyway
    assert len(pictures) == len(SOME)
    return cases(pictures, ["8 bit"], {NOTHING: PLAIN[NOTHING], AUTO: by_auto})


# measured when this was written, with a little room: mean CIEDE2000 to the original
@pytest.mark.parametrize(
    ("degradation", "most"),
    [
        ("flat", 1.5),
        ("warm and flat", 2.2),
        ("green or magenta and under", 2.2),
        ("gains and offsets", 4.0),
        ("flare", 1.9),
        ("warm and flare", 3.5),
    ],
)
def test_auto_recovers(some: list[Case], degradation: str, most: float) -> None:
    mine, nothing = (figures(some, way, degradation) for way in (AUTO, NOTHING))
    assert mine.mean < most
    assert mine.mean < 0.75 * nothing.mean
    assert mine.apart < 0.75 * nothing.apart


def test_a_file_holds_what_was_recorded() -> None:
    rng = np.random.default_rng(1)
    grey = np.full((64, 64, 3), 0.5)
    assert recorded(grey, "8 bit", rng).std() == 0
    assert recorded(grey, "noise 0.02", rng).std() / 255 == pytest.approx(0.02, rel=0.05)
    assert abs(recorded(grey, "JPEG 85", rng).astype(int) - 128).max() <= 1


def test_degradations_are_known_and_repeat() -> None:
    ramp = np.linspace(0, 1, 30).reshape(2, 5, 3)
    for degrade in DEGRADATIONS:
        first, again = (degrade(ramp, np.random.default_rng(3)) for _ in range(2))
        np.testing.assert_array_equal(first, again)
