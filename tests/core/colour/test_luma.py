"""Luma and Y'CbCr against colour-science and the published bars."""

import colour
import numpy as np
import pytest

from poise.colour import luma as y

# ITU-R BT.709 colour bars: hue angle in degrees and 75 % codes Y, Cb, Cr at 8 and 10 bit narrow range (SMPTE RP 219).
BARS = {
    "R": ((1, 0, 0), 102.906, (51, 109, 212), (204, 435, 848)),
    "Mg": ((1, 0, 1), 49.680, (63, 193, 204), (251, 771, 817)),
    "B": ((0, 0, 1), 354.761, (28, 212, 120), (111, 848, 481)),
    "Cy": ((0, 1, 1), 282.906, (145, 147, 44), (581, 589, 176)),
    "G": ((0, 1, 0), 229.680, (133, 63, 52), (534, 253, 207)),
    "Yl": ((1, 1, 0), 174.761, (168, 44, 136), (674, 176, 543)),
    "white": ((1, 1, 1), None, (180, 128, 128), (721, 512, 512)),
}


@pytest.mark.parametrize("bar", BARS)
def test_published_bars(bar):
    rgb, angle, eight, ten = BARS[bar]
    luma, cb, cr = y.to_ycbcr(0.75 * np.array(rgb))
    # Narrow range: ITU-R BT.709-6, item 5.
    for codes, scale in ((eight, 1), (ten, 4)):
        narrow = np.array([219 * luma + 16, 224 * cb + 128, 224 * cr + 128]) * scale
        assert np.floor(narrow + 0.5).tolist() == list(codes)
    if angle is not None:
        assert float(y.hue(cb, cr)) == pytest.approx(angle, abs=5e-4)


@pytest.mark.parametrize(
    ("primaries", "name"),
    [("ITU-R BT.709", "ITU-R BT.709"), ("ITU-R BT.2020", "ITU-R BT.2020"), ("P3-D65", "ITU-R BT.709")],
)
def test_agrees_with_colour_science(primaries, name):
    rgb = np.random.default_rng(1).uniform(-0.2, 1.2, (500, 3))
    reference = colour.RGB_to_YCbCr(
        rgb, K=colour.WEIGHTS_YCBCR[name], in_legal=False, in_int=False, out_legal=False, out_int=False
    )
    np.testing.assert_allclose(y.to_ycbcr(rgb, y.weights(primaries)), reference, atol=1e-12)


def test_bt601_weights_agree_with_colour_science():
    np.testing.assert_allclose(y.BT601, colour.WEIGHTS_YCBCR["ITU-R BT.601"])


def test_a_neutral_is_its_own_luma_to_the_bit():
    grey = np.random.default_rng(2).uniform(0, 1, 1000).astype(np.float32)
    luma, cb, cr = np.moveaxis(y.to_ycbcr(np.stack([grey] * 3, axis=-1)), -1, 0)
    assert luma.dtype == np.float32
    np.testing.assert_array_equal(luma, grey)
    assert not cb.any()
    assert not cr.any()


def test_complements_are_exactly_opposite():
    colours = np.random.default_rng(3).uniform(0, 1, (100, 3))
    _, cb, cr = np.moveaxis(y.to_ycbcr(colours), -1, 0)
    _, other_cb, other_cr = np.moveaxis(y.to_ycbcr(1 - colours), -1, 0)
    np.testing.assert_allclose((y.hue(cb, cr) - y.hue(other_cb, other_cr)) % 360, 180, atol=1e-9)
    np.testing.assert_allclose(y.chroma(cb, cr), y.chroma(other_cb, other_cr), atol=1e-12)
