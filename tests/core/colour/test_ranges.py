"""Narrow range: black and white of ITU-R BT.709-6, item 5."""

import pytest

from poise.colour.ranges import narrow_affine


@pytest.mark.parametrize(("bits", "black", "white"), [(8, 16, 235), (10, 64, 940), (12, 256, 3760), (16, 4096, 60160)])
def test_black_and_white(bits: int, black: int, white: int) -> None:
    slope, offset = narrow_affine(bits)
    full = 2**bits - 1
    assert slope * black / full + offset == pytest.approx(0, abs=1e-12)
    assert slope * white / full + offset == pytest.approx(1, abs=1e-12)
