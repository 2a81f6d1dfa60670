"""The waveform on pictures whose counts are known."""

import numpy as np
import pytest

from poise.scopes import level_of, row_of, split, waveform


def test_a_ramp_is_a_diagonal():
    levels = np.array([level_of(row, 20) for row in range(20)])
    ramp = np.broadcast_to(levels[None, :, None], (6, 20, 3))
    np.testing.assert_array_equal(waveform(ramp, 20, 20), 6 * np.eye(20))


@pytest.mark.parametrize(
    ("dtype", "maximum"), [(np.uint8, 255), (np.uint16, 1023), (np.uint16, 4095), (np.uint16, 65535)]
)
def test_codes_stand_where_their_levels_do(dtype, maximum):
    picture = np.array([0, maximum // 2, maximum], dtype).reshape(1, 3, 1)
    grid = waveform(picture, 3, 64, maximum=maximum)
    assert [int(column.argmax()) for column in grid.T] == [row_of(v, 64) for v in (0, maximum // 2 / maximum, 1)]
    assert grid.sum() == 3


def test_columns_share_the_width_evenly():
    assert waveform(np.zeros((2, 480, 3), np.uint8), 160, 8).sum(axis=0).tolist() == [6] * 160


def test_levels_beyond_black_and_white_are_counted_in_the_edge_rows():
    grid = waveform(np.array([-5.0, 0.5, 7.0]).reshape(3, 1, 1), 1, 11)
    assert grid[:, 0].tolist() == [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1]


@pytest.mark.parametrize("shape", [(1, 1, 1), (1, 1, 3), (1, 5000, 3), (5000, 1, 1), (7, 13, 3)])
def test_every_pixel_is_counted_once(shape):
    picture = np.random.default_rng(4).uniform(-0.5, 1.5, shape)
    assert waveform(picture, 100, 50).sum() == shape[0] * shape[1]


def test_pixels_that_are_not_finite_are_left_out():
    picture = np.full((4, 5, 3), 0.5, np.float32)
    picture[0, 0, 0], picture[1, 1, 1], picture[2, 2, 2] = np.nan, np.inf, -np.inf
    signal = split(picture)
    assert signal.invalid == 3
    assert waveform(signal, 5, 11).sum(axis=0).tolist() == [3, 3, 3, 4, 4]
    assert waveform(np.full((3, 3, 3), np.nan), 5, 11).sum() == 0


@pytest.mark.parametrize("picture", [np.zeros((2, 2)), np.zeros((2, 2, 4)), np.zeros((2, 2, 3), np.int32)])
def test_what_is_no_picture_is_refused(picture):
    with pytest.raises(ValueError, match="a picture is"):
        waveform(picture, 2, 2)
