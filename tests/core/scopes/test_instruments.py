"""All instruments together give what each gives alone."""

import numpy as np
import pytest
import skimage.data

from poise.scopes import histogram, instruments, parade, vectorscope, waveform

PHOTOGRAPH = skimage.data.astronaut()


@pytest.mark.parametrize(
    "picture",
    [PHOTOGRAPH, (PHOTOGRAPH / 255).astype(np.float32), PHOTOGRAPH[..., :1].astype(np.uint16) * 257],
    ids=["u8", "float", "grey u16"],
)
def test_together_as_alone(picture):
    grids = instruments(picture, 150, 40, 64, fine=5)
    np.testing.assert_array_equal(grids.waveform, waveform(picture, 150, 40))
    np.testing.assert_array_equal(grids.parade, parade(picture, 50, 40))
    np.testing.assert_array_equal(grids.vectorscope, vectorscope(picture, 64))
    np.testing.assert_array_equal(grids.histogram, histogram(picture, 200))


@pytest.mark.parametrize("shape", [(1, 1, 1), (1, 5000, 3), (5000, 1, 3)])
def test_odd_shapes_are_counted_whole(shape):
    grids = instruments(np.full(shape, 0.3), 2, 10, 9)
    pixels = shape[0] * shape[1]
    assert grids.waveform.sum() == grids.vectorscope.sum() == pixels
    assert grids.parade.sum() == 3 * pixels
    assert grids.histogram.sum() == 4 * pixels


def test_nothing_finite_gives_empty_grids():
    grids = instruments(np.full((3, 4, 3), np.nan, np.float32), 4, 10, 9)
    assert not any(grid.any() for grid in (grids.waveform, grids.parade, grids.vectorscope, grids.histogram))
