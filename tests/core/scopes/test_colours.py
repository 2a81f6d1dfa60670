"""Counts of hue, chroma and luma, held against numpy's histogram of colour-science's Y'CbCr."""

import colour
import numpy as np
import pytest
from skimage import data

from poise.scopes import NEAR_NEUTRAL, colours, split, targets


def expected(rgb: np.ndarray, bins: int, weights: str) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    y, cb, cr = colour.RGB_to_YCbCr(rgb.reshape(-1, 3), K=colour.WEIGHTS_YCBCR[weights], out_range=(0, 1, -0.5, 0.5)).T
    chroma, hue = np.hypot(cb, cr), np.degrees(np.arctan2(cr, cb)) % 360
    return (
        np.histogram(hue[chroma >= NEAR_NEUTRAL], bins, (0, 360))[0],
        np.histogram(chroma, bins, (0, 1))[0],
        np.histogram(y, bins, (0, 1))[0],
    )


@pytest.mark.parametrize("bins", [360, 90, 7])
@pytest.mark.parametrize("primaries", ["ITU-R BT.709", "ITU-R BT.2020"])
def test_as_numpy_counts_a_photograph(bins: int, primaries: str) -> None:
    photograph = data.astronaut()
    counts = colours(photograph, bins, primaries=primaries)
    pairs = zip((counts.hue, counts.chroma, counts.luma), expected(photograph / 255, bins, primaries), strict=True)
    for ours, numpys in pairs:
        assert ours.shape == (bins,)
        # a code of 8 bits may stand right on the border of two bins, where float32 and float64 part
        assert np.abs(np.cumsum(ours) - np.cumsum(numpys)).max() < 0.002 * numpys.sum()


def test_every_pixel_is_counted_and_greys_have_no_hue() -> None:
    grey = np.linspace(0, 1, 300).reshape(10, 30, 1).repeat(3, axis=2)
    counts = colours(grey, 100)
    assert counts.hue.sum() == 0
    assert counts.chroma[0] == counts.luma.sum() == 300
    faint = grey + np.array([0.005, 0, -0.005])
    assert colours(faint).hue.sum() == 0


def test_bars_stand_at_their_hues() -> None:
    bars = np.array([[[0.75, 0, 0], [0.75, 0.75, 0], [0, 0.75, 0], [0, 0.75, 0.75], [0, 0, 0.75], [0.75, 0, 0.75]]])
    hues = np.flatnonzero(colours(bars, 360).hue)
    assert hues.tolist() == sorted(int(target.angle) for target in targets())


def test_what_lies_outside_is_counted_in_the_end_bins() -> None:
    wild = np.array([[[-1.0, -1.0, -1.0], [9.0, 9.0, 9.0], [1e30, 0.0, 0.0], [np.nan, 0.5, 0.5]]])
    counts = colours(wild, 10)
    assert counts.luma.tolist() == [1, 0, 0, 0, 0, 0, 0, 0, 0, 2]
    assert counts.chroma.tolist() == [2, 0, 0, 0, 0, 0, 0, 0, 0, 1]


def test_a_hue_just_below_a_full_turn_has_a_bin() -> None:
    # Cr a hair below 0 turns by so little that float32 rounds it to 360
    hair = np.array([[[0.5 - 1e-8, 0.5, 0.9]]])
    assert colours(hair).hue.sum() == 1


def test_a_signal_is_shared_and_ten_bits_know_their_full_scale() -> None:
    photograph = data.astronaut()[::4, ::4]
    ten = np.rint(photograph / 255 * 1023).astype(np.uint16)
    counts = colours(split(ten, 1023))
    assert (counts.luma == colours(ten, maximum=1023).luma).all()
    assert counts.luma.sum() == 128 * 128
