"""The parade on pictures whose counts are known."""

import numpy as np

from poise.scopes import parade, row_of


def test_each_channel_has_its_own_trace():
    picture = np.broadcast_to(np.array([0.2, 0.5, 0.9]), (4, 6, 3))
    grids = parade(picture, 3, 44)
    assert grids.shape == (3, 44, 3)
    for grid, level in zip(grids, (0.2, 0.5, 0.9), strict=True):
        assert grid[row_of(level, 44)].tolist() == [8, 8, 8]
        assert grid.sum() == 24


def test_grey_stands_level():
    red, green, blue = parade(np.random.default_rng(5).integers(0, 256, (9, 9, 1), np.uint8), 3, 20)
    np.testing.assert_array_equal(red, green)
    np.testing.assert_array_equal(red, blue)
