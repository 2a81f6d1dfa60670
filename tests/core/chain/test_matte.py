"""Mattes in float64: published values, scipy's filters, other libraries' Y'CbCr, and the ends of every range."""

import colour
import numpy as np
import pytest
from scipy import ndimage
from skimage import data

from poise.chain import matte
from poise.colour.luma import BT709, to_ycbcr
from poise.correction import Balance, Matte
from poise.correction.model import HueInterval, Inside, Interval

PHOTOGRAPH = data.astronaut()[:96, 160:300] / 255
FLAT = np.full((4, 5, 3), 0.5)


def test_smoothstep_of_the_definition() -> None:
    t = np.array([-1, 0, 0.25, 0.5, 1, 3])
    np.testing.assert_allclose(matte.smoothstep(t), [0, 0, 0.15625, 0.5, 1, 1])  # 3t^2 - 2t^3


def test_hue_wraps_past_360() -> None:
    hues = np.array([0, 20, 25, 30, 180, 330, 335, 340, 359], float)
    found = matte.hue_membership(hues, HueInterval(340, 20, 10))
    np.testing.assert_allclose(found, [1, 1, 0.5, 0, 0, 0, 0.5, 1, 1], atol=1e-12)
    # the other way round it is the rest of the circle
    np.testing.assert_array_equal(matte.hue_membership(hues, HueInterval(20, 340)), [0, 1, 1, 1, 1, 1, 1, 1, 0])
    assert matte.hue_membership(hues, HueInterval(0, 360)).tolist() == [1] * 9
    assert matte.hue_membership(hues, HueInterval(180, 180)).tolist() == [0, 0, 0, 0, 1, 0, 0, 0, 0]


@pytest.mark.parametrize(("one", "other", "apart"), [(350, 10, 20), (10, 350, 20), (1, 359, 2), (0, 180, 180)])
def test_hue_distance_is_the_short_way_round(one: float, other: float, apart: float) -> None:
    at, soft = np.array([float(other)]), min(2.0 * apart, 180.0)
    found = matte.hue_membership(at, HueInterval(one, one, soft))
    assert found == pytest.approx(0.5 if apart < 180 else 0)  # smoothstep of one half, and of nothing
    # a range exactly so wide reaches it, one a little narrower does not
    assert matte.hue_membership(at, HueInterval((one - apart) % 360, (one + apart) % 360 or 360)) == [1]
    less = apart - 0.001
    assert matte.hue_membership(at, HueInterval((one - less) % 360, (one + less) % 360)) == [0]


def test_an_interval_falls_beyond_both_ends_and_may_be_empty() -> None:
    values = np.array([0.1, 0.2, 0.25, 0.3, 0.4, 0.6, 0.7, 0.8])
    np.testing.assert_allclose(
        matte.membership(values, Interval(0.3, 0.6, 0.2)), [0, 0.5, 0.84375, 1, 1, 1, 0.5, 0], atol=1e-12
    )
    assert not matte.membership(values, Interval(0.6, 0.3, 0.5)).any()
    beyond = np.array([-0.5, 0.0, 1.0, 7.0])
    assert matte.membership(beyond, Interval()).tolist() == [1, 1, 1, 1]
    assert matte.membership(beyond, Interval(0.5, 1)).tolist() == [0, 0, 1, 1]


@pytest.mark.parametrize("bar", ["red", "magenta", "blue", "cyan", "green", "yellow"])
def test_a_range_about_each_bar_takes_that_bar_alone(bar: str) -> None:
    # angles of the BT.709 bars on Cb/Cr (SMPTE RP 219 bars through ITU-R BT.709-6, item 3)
    angles = {"red": 102.906, "magenta": 49.680, "blue": 354.761, "cyan": 282.906, "green": 229.680, "yellow": 174.761}
    bars = {"red": "100", "magenta": "101", "blue": "001", "cyan": "011", "green": "010", "yellow": "110"}
    angle = angles[bar]
    narrow = Matte(bar, hue=HueInterval((angle - 1) % 360, (angle + 1) % 360), chroma=Interval(0.1, 1))
    picture = np.array([[[float(c) * 0.75 for c in code] for code in bars.values()]])
    assert matte.key(picture, narrow)[0].tolist() == [float(name == bar) for name in bars]


def test_the_plane_is_that_of_colour_science() -> None:
    theirs = colour.RGB_to_YCbCr(PHOTOGRAPH, K=colour.WEIGHTS_YCBCR["ITU-R BT.709"], out_legal=False)
    low, high = Interval(0.05, 0.2, 0.03), HueInterval(90, 150, 20)
    chroma, hue = np.hypot(theirs[..., 1], theirs[..., 2]), np.degrees(np.arctan2(theirs[..., 2], theirs[..., 1]))
    expected = matte.membership(chroma, low) * matte.hue_membership(hue % 360, high)
    np.testing.assert_allclose(matte.key(PHOTOGRAPH, Matte("jacket", chroma=low, hue=high)), expected, atol=1e-9)


def test_a_neutral_has_no_hue() -> None:
    assert not matte.key(FLAT, Matte("buoy", hue=HueInterval(340, 20, 10))).any()
    assert not matte.key(FLAT, Matte("buoy", chroma=Interval(0.1, 1))).any()
    assert matte.key(FLAT, Matte("fog", luma=Interval(0.4, 0.6))).all()


@pytest.mark.parametrize("radius", [1, 2, 5])
def test_denoise_is_scipys_median(radius: int) -> None:
    values = PHOTOGRAPH[:40, :40, 0]
    theirs = ndimage.median_filter(values, 2 * radius + 1, mode="nearest")
    np.testing.assert_array_equal(matte.denoise(values, radius), theirs)


def test_a_large_denoise_looks_at_eleven_rows_and_columns_of_the_square() -> None:
    values = PHOTOGRAPH[:40, :40, 0]
    places = np.zeros((21, 21), bool)
    places[::2, ::2] = True
    theirs = ndimage.median_filter(values, footprint=places, mode="nearest")
    np.testing.assert_array_equal(matte.denoise(values, 10), theirs)


@pytest.mark.parametrize("sigma", [0.05, 0.7, 3, 50, 400])
def test_blur_is_scipys_gaussian(sigma: float) -> None:
    values = PHOTOGRAPH[..., 0]
    theirs = ndimage.gaussian_filter(values, sigma, mode="nearest", truncate=4)
    np.testing.assert_allclose(matte.blur(values, sigma), theirs, atol=1e-12)


def test_a_lost_pixel_is_0_and_counts_as_0_for_its_neighbours() -> None:
    lost = np.zeros((9, 9), bool)
    lost[4, 4] = True
    picture = np.full((9, 9, 3), 0.5)
    picture[4, 4] = np.nan
    for invert in (False, True):
        every = Matte("all", invert=invert, luma=Interval(0.9, 1) if invert else Interval(), blur=0.1)
        found = matte.mask(picture, every, lost=lost)
        assert found[4, 4] == 0
        assert found[4, 5] < found[0, 0]
        assert found[0, 0] == pytest.approx(1)


def test_turn_keeps_luma_and_turns_by_the_angle() -> None:
    before = to_ycbcr(PHOTOGRAPH)
    after = to_ycbcr(PHOTOGRAPH @ matte.turn(30).T)
    np.testing.assert_allclose(after[..., 0], before[..., 0], atol=1e-12)
    theirs = (before[..., 1] + 1j * before[..., 2]) * np.exp(1j * np.pi / 6)
    np.testing.assert_allclose(after[..., 1] + 1j * after[..., 2], theirs, atol=1e-12)


def run(inside: Inside, rgb: object, clamp: bool = True) -> np.ndarray:
    values = np.array(rgb, np.float64)
    for stage in matte.inside_stages(inside, "sRGB", BT709, clamp):
        values = stage(values)
    return values


def test_inside_is_exposure_in_light_then_asc_cdl() -> None:
    # a stop up from 18 % grey is 36 %, by the formula of IEC 61966-2-1
    assert run(Inside(exposure=1), [0.461356130] * 3) == pytest.approx([1.055 * 0.36 ** (1 / 2.4) - 0.055] * 3)
    cdl = Inside(balance=Balance((1.1, 1, 0.9), (0.02, -0.03, 0.05), (0.9, 1, 1.2)), saturation=1.25)
    # ASC CDL v1.2, as in test_operations
    assert run(cdl, [0.5, 0.25, 0.75]) == pytest.approx([0.670044, 0.191346, 0.766144], abs=1e-6)
    assert run(cdl, [-0.1, 0.01, 1.3]) == pytest.approx([0, 0, 1], abs=1e-6)
    assert run(cdl, [-0.1, 0.01, 1.3], clamp=False) == pytest.approx([-0.127055, -0.039555, 1.572317], abs=1e-6)


def test_turn_comes_after_balance() -> None:
    grey = run(Inside(turn=120, balance=Balance(offset=(0.2, 0.0, 0.0))), [0.5, 0.5, 0.5])
    both = to_ycbcr(grey)
    assert np.degrees(np.arctan2(both[2], both[1])) % 360 == pytest.approx(102.906 + 120, abs=1e-2)


def test_only_mattes_that_change_something_are_active() -> None:
    work = Matte("buoy", inside=Inside(turn=30))
    assert matte.active((Matte("quay"), work, Matte("ferry", on=False, inside=Inside(turn=30)))) == (work,)
