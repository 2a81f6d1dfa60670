"""The patch under the cursor: a square about a place, cut off where the picture ends."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from poise_tui.edits.patch import patch

PICTURE = np.arange(54 * 96).reshape(54, 96)
"""Every pixel is its own number: row * 96 + column."""


def test_a_patch_is_a_square_about_the_pixel_at_the_place() -> None:
    # 0.1 of 54 rows is 5.4: two whole pixels either way
    found = patch(PICTURE, (0.5, 0.5), 0.1)
    assert found.tolist() == [[row * 96 + column for column in range(46, 51)] for row in range(25, 30)]


@pytest.mark.parametrize(
    ("place", "rows", "columns"),
    [
        ((0.0, 0.0), (0, 3), (0, 3)),
        ((1.0, 1.0), (51, 54), (93, 96)),
        ((1.0, 0.0), (0, 3), (93, 96)),
        ((-3.0, 7.0), (51, 54), (0, 3)),
    ],
)
def test_at_an_edge_it_is_cut_off_and_outside_counts_as_the_edge(
    place: tuple[float, float], rows: tuple[int, int], columns: tuple[int, int]
) -> None:
    assert np.array_equal(patch(PICTURE, place, 0.1), PICTURE[slice(*rows), slice(*columns)])


@given(
    st.integers(1, 40), st.integers(1, 40), st.floats(-0.5, 1.5), st.floats(-0.5, 1.5), st.sampled_from([0.01, 0.08, 3])
)
def test_it_is_never_empty_and_holds_the_pixel_under_the_cursor(
    width: int, height: int, x: float, y: float, share: float
) -> None:
    picture = np.arange(width * height).reshape(height, width)
    found = patch(picture, (x, y), share)
    column, row = min(max(int(x * width), 0), width - 1), min(max(int(y * height), 0), height - 1)
    assert picture[row, column] in found
    assert max(found.shape) <= 2 * int(share * height / 2) + 1


def test_channels_stay_and_nothing_is_copied() -> None:
    picture = np.zeros((20, 20, 3), np.uint8)
    found = patch(picture, (0.5, 0.5), 0.2)
    assert found.shape == (5, 5, 3)
    assert found.base is picture
