"""Readings against numpy on photographs, and on pictures whose numbers are known."""

import json

import numpy as np
import pytest
import skimage.data

from poise.scopes import measure, measure_parts

PHOTOGRAPH = skimage.data.astronaut()
PERCENTILES = (0.5, 50, 99.5)


def levels(channel):
    return [channel.black, channel.median, channel.white]


@pytest.mark.parametrize(
    ("picture", "maximum"),
    [
        (PHOTOGRAPH, 255),
        (PHOTOGRAPH.astype(np.uint16) * 4 + 3, 1023),
        (PHOTOGRAPH.astype(np.uint16) * 257, 65535),
        ((PHOTOGRAPH / 255).astype(np.float32), 1),
        (PHOTOGRAPH[:7, :9] / 200 - 0.1, 1),
    ],
    ids=["u8", "u10", "u16", "float32", "float64"],
)
def test_percentiles_and_shares_agree_with_numpy(picture, maximum):
    readings = measure(picture, maximum)
    scaled = picture.astype(np.float64) / maximum
    for channel, plane in zip((readings.red, readings.green, readings.blue), np.moveaxis(scaled, -1, 0), strict=True):
        np.testing.assert_allclose(levels(channel), 100 * np.percentile(plane, PERCENTILES), atol=1e-5)
        assert channel.crushed == pytest.approx(100 * np.mean(plane <= 0))
        assert channel.clipped == pytest.approx(100 * np.mean(plane >= 1))
    luma = scaled @ [0.2126, 0.7152, 0.0722]
    # Half a step of 1/65535 is 0.00076 %.
    np.testing.assert_allclose(levels(readings.luma), 100 * np.percentile(luma, PERCENTILES), atol=8e-4)
    cb, cr = (scaled[..., 2] - luma) / 1.8556, (scaled[..., 0] - luma) / 1.5748  # ITU-R BT.709-6, item 3.3
    assert readings.saturation == pytest.approx(100 * np.hypot(cb, cr).mean(), abs=1e-3)


def test_spread_is_the_largest_difference_between_channels():
    ramp = np.linspace(0, 1, 1001)[None, :, None]
    spread = measure(ramp * np.array([0.8, 0.6, 0.7]) + np.array([0.1, 0.0, 0.05])).spread
    assert spread.bottom == pytest.approx(10 + 0.5 * 0.2, abs=1e-4)
    assert spread.middle == pytest.approx(20, abs=1e-4)
    assert spread.top == pytest.approx(10 + 99.5 * 0.2, abs=1e-4)


def test_share_out_of_range_counts_a_pixel_once():
    # EBU R 103: -5 % and 105 % themselves are in range.
    picture = np.array([[[-0.06, 1.06, 0.5], [0.5, 0.5, 1.07], [-0.04, 1.04, 0.5], [0.2, 0.2, 0.2]]])
    assert measure(picture).outside == 50


def test_grey_is_the_same_as_three_equal_channels():
    grey = PHOTOGRAPH[..., :1]
    assert measure(grey) == measure(grey.repeat(3, axis=2))
    as_float = (grey / 255).astype(np.float32)
    assert measure(as_float) == measure(as_float.repeat(3, axis=2))


@pytest.mark.parametrize("shape", [(1, 1, 3), (1, 5000, 1), (5000, 1, 3)])
def test_odd_shapes(shape):
    readings = measure(np.full(shape, 51, np.uint8))
    assert levels(readings.green) == pytest.approx([20, 20, 20])
    assert readings.cast.amount == 0


def test_pixels_that_are_not_finite_are_left_out_and_told():
    picture = np.full((10, 10, 3), 0.4, np.float32)
    picture[0, 0], picture[0, 1, 2] = np.nan, np.inf
    readings = measure(picture)
    assert readings.invalid == 2
    assert levels(readings.blue) == pytest.approx([40, 40, 40], abs=1e-5)
    assert readings.to_json()["invalid"] == 2


def test_the_ends_of_ebu_r_103_are_its_codes():
    """EBU R 103: 20..984 of 10 bits lie inside, which is -5 % .. 105 % of 64..940 rounded outward."""
    codes = np.array([[[20], [984], [19], [985]]])
    assert measure(((codes - 64) / 876).astype(np.float32)).outside == 50


def test_nothing_finite_is_null_in_json():
    shape = measure(np.full((3, 3, 3), np.nan, np.float32)).to_json()
    json.dumps(shape, allow_nan=False)
    assert shape["invalid"] == 100
    assert shape["luma"] == {"black": None, "median": None, "white": None, "crushed": 0, "clipped": 0}
    assert shape["cast"] == {"hue": "none", "angle": None, "amount": None}


def test_json_has_exactly_the_documented_shape():
    shape = json.loads(json.dumps(measure(PHOTOGRAPH).to_json()))
    channel = {"black", "median", "white", "crushed", "clipped"}
    assert {key: set(part) if isinstance(part, dict) else None for key, part in shape.items()} == {
        "luma": channel,
        "red": channel,
        "green": channel,
        "blue": channel,
        "spread": {"bottom", "middle", "top"},
        "cast": {"hue", "angle", "amount"},
        "saturation": None,
        "outside": None,
    }


def test_a_picture_in_parts_reads_as_the_whole() -> None:
    """A cup of coffee (skimage.data), by rows of unequal number."""
    cup = skimage.data.coffee()
    assert measure_parts([cup[300:], cup[:7], cup[7:300]]) == measure(cup)
    deep = cup.astype(np.uint16) * 4
    assert measure_parts(iter([deep[:100], deep[100:]]), 1023) == measure(deep, 1023)
