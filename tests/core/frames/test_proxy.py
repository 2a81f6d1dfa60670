"""Proxies leave pixels out and never average."""

import numpy as np
import pytest

from poise.frames import proxy


def test_every_pixel_of_a_proxy_is_a_pixel_of_the_picture() -> None:
    picture = np.arange(2160 * 3840, dtype=np.uint32).reshape(2160, 3840, 1)
    small = proxy(picture)
    assert small.shape == (540, 960, 1)
    np.testing.assert_array_equal(small, picture[::4, ::4])
    assert small.flags.c_contiguous
    assert small.base is None


@pytest.mark.parametrize(
    ("shape", "small"),
    [
        ((1, 1, 3), (1, 1, 3)),
        ((540, 960, 4), (540, 960, 4)),
        ((541, 960, 3), (271, 480, 3)),
        ((1, 5000, 3), (1, 834, 3)),
        ((5000, 1, 1), (500, 1, 1)),
    ],
)
def test_it_fits_and_is_never_larger(shape: tuple[int, ...], small: tuple[int, ...]) -> None:
    assert proxy(np.zeros(shape, np.uint8)).shape == small
