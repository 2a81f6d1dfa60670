"""The vectorscope: published bar positions, orientation, neutrals."""

import numpy as np
import pytest

from poise.scopes import cell_of, targets, vectorscope

# ITU-R BT.709 bars (SMPTE RP 219): angle, and 75 % Cb and Cr codes at 10 bit narrow range.
PUBLISHED = {
    "red": (102.906, 435, 848),
    "magenta": (49.680, 771, 817),
    "blue": (354.761, 848, 481),
    "cyan": (282.906, 589, 176),
    "green": (229.680, 253, 207),
    "yellow": (174.761, 176, 543),
}


def test_targets_are_the_published_bars():
    assert {target.name for target in targets()} == set(PUBLISHED)
    for target in targets():
        angle, cb, cr = PUBLISHED[target.name]
        assert target.angle == pytest.approx(angle, abs=5e-4)
        # Narrow range at 10 bits: 896 C + 512 (ITU-R BT.709-6, item 5).
        assert (round(896 * target.cb + 512), round(896 * target.cr + 512)) == (cb, cr)


def test_bars_fall_on_their_targets():
    bars = np.array([[[0.75, 0, 0], [0, 0.75, 0], [0, 0, 0.75]]])
    grid = vectorscope(bars, 101)
    for target in targets():
        if target.name in ("red", "green", "blue"):
            assert grid[cell_of(target.cb, target.cr, 101)] == 1
    assert grid.sum() == 3


def test_red_is_above_and_blue_to_the_right():
    (above, _), (_, right) = cell_of(0, 0.4, 100), cell_of(0.4, 0, 100)
    assert (above, right) == (10, 90)


@pytest.mark.parametrize("size", [1, 64, 65])
def test_all_greys_fall_into_the_one_middle_cell(size):
    grey = np.arange(65536, dtype=np.uint16).reshape(256, 256, 1)
    assert vectorscope(grey.repeat(3, axis=2), size)[size // 2, size // 2] == 65536


def test_colours_outside_are_counted_in_the_edge_cells():
    grid = vectorscope(np.array([[[-3.0, 0.0, 9.0], [9.0, 0.0, -3.0]]]), 10)
    assert grid[-1, -1] == 1
    assert grid[0, 0] == 1


def test_bt2020_has_its_own_plane():
    other = {target.name: target.angle for target in targets(primaries="ITU-R BT.2020")}
    # ITU-R BT.2020-2 table 4: red is Cb = -0.2627 / 1.8814, Cr = 0.5.
    assert other["red"] == pytest.approx(np.degrees(np.arctan2(0.5, -0.2627 / 1.8814)))
