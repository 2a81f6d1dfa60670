"""What lies at or beyond the ends, column by column, against numpy's own comparisons of integer codes."""

import numpy as np
import pytest

from poise.scopes import ends, instruments, measure, split


@pytest.mark.parametrize(("dtype", "maximum"), [(np.uint8, 255), (np.uint16, 1023), (np.uint16, 65535)])
def test_exactly_the_first_and_the_last_code(dtype: type, maximum: int) -> None:
    codes = np.array([0, 1, maximum - 1, maximum])
    picture = np.random.default_rng(4).choice(codes, (20, 12, 3)).astype(dtype)
    signal = split(picture, maximum)
    found = ends(signal, signal.levels[1:], 6)
    for channel in range(3):
        for end, code in enumerate((maximum, 0)):
            hits = (picture[..., channel] == code).reshape(20, 6, 2).sum(axis=(0, 2))
            np.testing.assert_array_equal(found[channel, end], hits)


def test_white_and_black_are_at_the_ends_of_luma_too() -> None:
    """Luma of float32 white is one rounding off 1."""
    picture = np.array([[[1.0] * 3, [0.0] * 3, [0.5] * 3, [1.2, 1.2, 1.2]]])
    signal = split(picture)
    assert ends(signal, signal.levels[:1], 4)[0].tolist() == [[1, 0, 0, 1], [0, 1, 0, 0]]


def test_instruments_count_the_shares_that_are_read() -> None:
    picture = np.clip(np.random.default_rng(9).normal(0.5, 0.4, (64, 48, 3)), 0, 1).astype(np.float32)
    grids, readings = instruments(picture, 24, 22, 9, parade_columns=8), measure(picture)
    shares = 100 * grids.colour_ends.sum(axis=2) / grids.pixels
    for (clipped, crushed), channel in zip(shares, (readings.red, readings.green, readings.blue), strict=True):
        assert (clipped, crushed) == (pytest.approx(channel.clipped), pytest.approx(channel.crushed))
