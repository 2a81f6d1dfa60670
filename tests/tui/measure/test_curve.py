"""What enters a curve, against numpy's histogram of the known picture."""

from pathlib import Path

import numpy as np
import pytest
from skimage import data

from poise.correction import CODED, LINEAR, Correction, Curves, Encoding, Inside, Light, Matte
from poise.correction.model import Levels as Points
from poise.frames import Depth, Frame
from poise_tui.desk import CHANNELS, Channel
from poise_tui.measure.curve import entering
from poise_tui.measure.loaded import Loaded, loaded
from poise_tui.measure.view import Focus, Grids, view

BINS = 53
EDGES = np.linspace(-0.05, 1.05, BINS + 1)
"""Of the scale of EBU R 103; no code of 8 bits lies nearer to one than float noise."""
ASTRONAUT = data.astronaut()[::3, ::3]
BENT = Curves(red=((0.0, 0.2), (1.0, 0.8)), green=((0.0, 0.0), (1.0, 0.6)), master=((0.0, 0.0), (0.5, 0.7), (1.0, 1.0)))


def opened(pixels: np.ndarray, depth: Depth = Depth.U8) -> Loaded:
    picture = loaded(Path("quay.png"), None, Frame(pixels, depth), np.ascontiguousarray(pixels))
    assert picture.step == 1  # so that the sample is the picture
    return picture


def wanted(codes: np.ndarray) -> list[int]:
    """What lies beyond the scale is counted in its end bins."""
    return [int(count) for count in np.histogram(np.clip(codes, -0.05, 1.05), EDGES)[0]]


def rounded(values: np.ndarray) -> np.ndarray:
    return np.rint(values * 255) / 255


def test_no_code_lies_on_an_edge() -> None:
    assert np.abs(np.arange(256)[:, None] / 255 - EDGES).min() > 1e-5


@pytest.mark.parametrize("channel", CHANNELS)
def test_what_enters_is_the_picture_where_nothing_is_before_the_curves(channel: Channel) -> None:
    codes = ASTRONAUT / 255 if channel == "master" else ASTRONAUT[..., CHANNELS.index(channel)] / 255
    counts = entering(opened(ASTRONAUT), Correction(), CODED, channel, BINS)
    assert counts.tolist() == wanted(codes)


def test_a_channel_meets_its_curve_before_any_curve_and_the_master_after_those_of_channels() -> None:
    picture, code = opened(ASTRONAUT), ASTRONAUT / 255
    after = code.copy()
    # curves of two points are straight; what leaves them is rounded to codes of the picture's depth
    after[..., 0], after[..., 1] = rounded(0.2 + 0.6 * code[..., 0]), rounded(0.6 * code[..., 1])
    for channel, entered in (("red", code[..., 0]), ("green", code[..., 1]), ("master", after)):
        counts = entering(picture, Correction(curves=BENT), CODED, channel, BINS)  # type: ignore[arg-type]
        assert counts.tolist() == wanted(entered)


def test_what_comes_before_curves_is_in_it_and_what_comes_after_is_not() -> None:
    picture, code = opened(ASTRONAUT), ASTRONAUT / 255
    after = Correction(saturation=0.0, mattes=(Matte("all", inside=Inside(exposure=2.0)),))
    assert entering(picture, after, CODED, "blue", BINS).tolist() == wanted(code[..., 2])
    # black and white point: (code - 0.1) / 0.7, held to 0..1 for integers
    before = Correction(levels=Points(black=0.1, white=0.8))
    levelled = rounded(np.clip((code[..., 2] - 0.1) / 0.7, 0, 1))
    assert entering(picture, before, CODED, "blue", BINS).tolist() == wanted(levelled)


def test_float_pixels_that_are_no_numbers_are_left_out_and_others_are_counted_at_the_ends() -> None:
    pixels = np.full((10, 10, 3), 0.5, np.float32)
    pixels[0] = np.nan
    pixels[1] = 40.0
    pixels[2] = -40.0
    picture = opened(pixels, Depth.FLOAT)
    coded = Encoding(range="full")
    counts = entering(picture, Correction(), coded, "red", BINS)
    assert counts.sum() == 90
    assert (counts[0], counts[-1], counts.max()) == (10, 10, 70)
    # linear light at half is sRGB code 0.7354 (IEC 61966-2-1)
    counts = entering(picture, Correction(), LINEAR, "master", BINS)
    assert counts[int((0.7354 + 0.05) / 1.1 * BINS)] == 210
    assert counts.sum() == 270


def test_a_grey_picture_enters_with_its_one_channel() -> None:
    pixels = data.camera()[::3, ::3, None]
    for channel in CHANNELS:
        assert entering(opened(pixels), Correction(), CODED, channel, BINS).tolist() == wanted(pixels / 255)


def test_a_view_has_it_where_a_curve_is_looked_at_alone() -> None:
    picture, grids = opened(ASTRONAUT), Grids(40, 20, 64, 32, bins=BINS)
    correction = Correction(light=Light(exposure=0.5), curves=BENT)
    seen = view(picture, correction, CODED, grids, True, Focus("curve", channel="green"))
    assert seen.entering is not None
    assert np.array_equal(seen.entering, entering(picture, correction, CODED, "green", BINS))
    assert seen.scopes is not None
    assert view(picture, correction, CODED, grids, True).entering is None
