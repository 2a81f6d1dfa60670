"""Coverage by its definition, on planes whose numbers are known, and against scipy's filters."""

import numpy as np
import pytest
from scipy import ndimage
from skimage import data

from poise.scopes import SPREADS_FAR, Coverage, coverage

SQUARE = np.zeros((100, 200))
SQUARE[40:60, 80:120] = 1


def test_a_key_that_nothing_was_done_to() -> None:
    assert coverage(SQUARE, SQUARE) == Coverage(share=4.0, taken=4.0, spread=0.0, lost=0.0)
    assert coverage(0.25 * SQUARE, 0.25 * SQUARE) == Coverage(share=1.0, taken=4.0, spread=0.0, lost=0.0)


def test_all_and_nothing() -> None:
    every, none = np.ones((3, 5), np.float32), np.zeros((3, 5), np.float32)
    assert coverage(every, every) == Coverage(100.0, 100.0, 0.0, 0.0)
    assert coverage(none, none) == Coverage(0.0, 0.0, 0.0, 0.0)
    assert coverage(none, every) == Coverage(0.0, 0.0, 0.0, 100.0)
    assert coverage(every, none) == Coverage(100.0, 100.0, 100.0, 0.0)
    assert coverage(none[:0], none[:0]) == Coverage(0.0, 0.0, 0.0, 0.0)


def test_a_blur_spreads_as_much_as_it_loses() -> None:
    # what a Gaussian takes from inside a square it puts outside of it; scipy's leaves the sum as it is
    blurred = ndimage.gaussian_filter(SQUARE, 4, truncate=4)
    found = coverage(blurred, SQUARE)
    outside = blurred.copy()
    outside[40:60, 80:120] = 0
    assert found.share == pytest.approx(4, abs=1e-9)
    assert found.taken == pytest.approx(100 * (20 + 2 * 16) * (40 + 2 * 16) / 20000)  # 4 sigma more on every side
    assert found.spread == pytest.approx(100 * outside.sum() / 800)
    assert found.lost == pytest.approx(found.spread, abs=1e-9)


def test_the_median_of_a_photograph_loses_what_is_small() -> None:
    keyed = np.clip((data.camera() - 180) / 40.0, 0, 1)
    matte = ndimage.median_filter(keyed, 5)
    found = coverage(matte.astype(np.float32), keyed.astype(np.float32))
    assert found.share == pytest.approx(100 * np.average(matte), abs=1e-4)
    assert found.lost == pytest.approx(100 * (keyed - matte)[keyed > matte].sum() / keyed.sum(), abs=1e-4)
    assert found.spread == pytest.approx(100 * matte[keyed == 0].sum() / matte.sum(), abs=1e-4)
    assert 0 < found.spread < found.lost < SPREADS_FAR


def test_many_small_values_are_summed_in_double() -> None:
    # 8.8 million times 0.1 in float32 one after the other would be off by more than a per cent
    faint = np.full((2160, 4096), 0.1, np.float32)
    assert coverage(faint, faint).share == pytest.approx(10, abs=1e-5)


def test_far_is_from_the_limit_on() -> None:
    assert not Coverage(10, 20, SPREADS_FAR - 0.01, 0).far
    assert Coverage(10, 20, SPREADS_FAR, 0).far


def test_json_has_four_decimals() -> None:
    assert Coverage(100 / 3, 50.0, 200 / 3, 0.0).to_json() == {
        "share": 33.3333,
        "taken": 50.0,
        "spread": 66.6667,
        "lost": 0.0,
    }
