"""A matte as it is seen, on photographs: its mask, the keyed picture, the cloud on the vectorscope, its coverage."""

from pathlib import Path

import numpy as np
import pytest
from msgspec.structs import replace
from skimage import data

from poise.correction import CODED, LINEAR, NEUTRAL, Balance, Correction, Encoding, Inside, Interval, Matte
from poise.correction.model import HueInterval
from poise.errors import PoiseError
from poise.frames import Depth, Frame
from poise_tui.measure.loaded import Loaded, loaded
from poise_tui.measure.matte import Keyed, keyed
from poise_tui.measure.view import Focus, Grids, view

SUIT = Matte("suit", hue=HueInterval(100, 130, 10), chroma=Interval(0.15, 0.5, 0.05), luma=Interval(0.2, 0.9, 0.1))
FOG = Matte("fog", luma=Interval(0.5, 1, 0.2))
GRIDS = Grids(40, 20, 64, 32)
SIZE = 32


def opened(pixels: np.ndarray, depth: Depth = Depth.U8) -> Loaded:
    return loaded(Path("quay.png"), None, Frame(pixels, depth, linear=depth.is_float), pixels)


def suit(code: np.ndarray) -> np.ndarray:
    """SUIT written out: hue x chroma x luma of ITU-R BT.709-6 Y'CbCr, 3t^2 - 2t^3 over the softness."""
    r, g, b = np.moveaxis(code, -1, 0)
    y = 0.2126 * r + 0.7152 * g + 0.0722 * b
    cb, cr = (b - y) / 1.8556, (r - y) / 1.5748
    hue, chroma = np.degrees(np.arctan2(cr, cb)) % 360, np.hypot(cb, cr)
    beyond = [
        (np.abs(hue - 115) - 15, 10),
        (np.maximum(0.15 - chroma, chroma - 0.5), 0.05),
        (np.maximum(0.2 - y, y - 0.9), 0.1),
    ]
    t = [np.clip(1 - distance / soft, 0, 1) for distance, soft in beyond]
    return np.asarray(np.prod([each * each * (3 - 2 * each) for each in t], axis=0))


def seen(picture: Loaded, matte: Matte, encoding: Encoding = CODED, rough: bool = False) -> Keyed:
    return keyed(picture, Correction(mattes=(matte,)), encoding, SIZE, 0, rough)[1]


@pytest.fixture(scope="module")
def astronaut() -> Loaded:
    picture = opened(data.astronaut())
    assert picture.step == 2  # so that a sample is not the whole
    return picture


@pytest.mark.parametrize("rough", [False, True])
def test_the_mask_is_that_of_the_matte(astronaut: Loaded, rough: bool) -> None:
    found = seen(astronaut, SUIT, rough=rough)
    wanted = suit(data.astronaut()[:: 2 if rough else 1, :: 2 if rough else 1] / 255)
    assert found.mask is not None
    assert found.mask.shape == wanted.shape
    # the engine reads hue and chroma from tables: two hundredths of a mask at most, and a thousandth on the mean
    assert np.abs(found.mask - wanted).max() < 0.02
    assert np.abs(found.mask - wanted).mean() < 0.001
    assert 0.1 < wanted.mean() < 0.4


@pytest.mark.parametrize("rough", [False, True])
def test_what_the_picture_shows(astronaut: Loaded, rough: bool) -> None:
    found, step = seen(astronaut, SUIT, rough=rough), 1 if rough else astronaut.step
    code = (data.astronaut()[::2, ::2] / 255).astype(np.float32)
    result = np.zeros((256, 256, 3), np.float32)
    assert found.mask is not None
    mask = found.mask[::step, ::step]
    assert found.picture(result, "result", False, step) is result
    assert found.picture(result, "result", True, step) is result
    assert np.array_equal(found.picture(result, "matte", False, step), mask[..., None])
    assert np.array_equal(found.picture(result, "matte", True, step), 1 - mask[..., None])
    for inverted, share in ((False, mask), (True, 1 - mask)):
        shown = found.picture(result, "keyed", inverted, step)
        assert shown.shape == code.shape
        assert np.ptp(shown[share == 0], axis=-1).max() < 1e-6
        assert np.allclose(shown[share == 1], code[share == 1], rtol=0, atol=1e-6)
        # between the two, colour keeps its direction and has the share of the mask
        apart, full = shown - shown.mean(axis=2, keepdims=True), code - code.mean(axis=2, keepdims=True)
        assert np.abs(apart - share[..., None] * full).max() < 1e-5
        assert (share == 0).sum() > 1000
        assert (share == 1).sum() > 1000


def test_rough_and_fine_pictures_have_the_same_pixels(astronaut: Loaded) -> None:
    correction = Correction(saturation=1.1, mattes=(replace(SUIT, inside=Inside(turn=90.0)),))
    for shown in ("result", "matte", "keyed"):
        focus = Focus("matte", 0, shown)  # type: ignore[arg-type]
        fine, rough = (view(astronaut, correction, CODED, GRIDS, one, focus) for one in (False, True))
        assert np.array_equal(fine.levels, rough.levels)
        assert fine.scopes is None
        assert fine.keyed is not None


def test_the_cloud_is_of_all_pixels_and_what_is_taken_of_those_at_least_half_keyed(astronaut: Loaded) -> None:
    for rough in (False, True):
        found = seen(astronaut, SUIT, rough=rough)
        assert found.mask is not None
        assert found.taken is not None
        assert found.cloud.sum() == found.mask.size == (256**2 if rough else 512**2)
        assert found.taken.sum() == np.count_nonzero(found.mask >= 0.5)
        assert (found.taken <= found.cloud).all()
        # Cb to the right and Cr upwards: orange lies in the upper half, a little to the left
        assert found.taken[: SIZE // 2, : SIZE // 2].sum() == pytest.approx(found.taken.sum(), rel=0.1)
        assert found.colours.luma.sum() == -(-found.mask.size // (3 if rough else 1))  # thinned where rough


def test_coverage_is_the_mean_of_the_mask_and_what_denoise_and_blur_carry_over_its_edge(astronaut: Loaded) -> None:
    plain, soft = seen(astronaut, SUIT), seen(astronaut, replace(SUIT, denoise=0.004, blur=0.02))
    wanted = suit(data.astronaut() / 255)
    assert plain.coverage is not None
    assert soft.coverage is not None
    assert soft.mask is not None
    assert plain.coverage.share == pytest.approx(100 * wanted.mean(), abs=0.1)
    assert plain.coverage.taken == pytest.approx(100 * (wanted > 0).mean(), abs=0.5)
    assert (plain.coverage.spread, plain.coverage.lost) == (0, 0)
    spread = soft.mask[wanted == 0].sum() / soft.mask.sum()
    assert soft.coverage.spread == pytest.approx(100 * spread, abs=1)
    assert spread > 0.02
    assert soft.coverage.lost > 1


def test_a_matte_still_to_be_made_has_a_cloud_and_no_mask(astronaut: Loaded) -> None:
    found = keyed(astronaut, Correction(mattes=(SUIT,)), CODED, SIZE, None, True)[1]
    assert (found.mask, found.taken, found.coverage) == (None, None, None)
    assert found.cloud.sum() == 256**2
    result = np.zeros((256, 256, 3), np.float32)
    for shown in ("result", "matte", "keyed"):
        assert found.picture(result, shown, True, 1) is result  # type: ignore[arg-type]


def test_a_matte_is_keyed_on_the_mattes_before_it_not_on_itself_or_those_behind(astronaut: Loaded) -> None:
    code = data.astronaut()[::2, ::2] / 255
    grey = Matte("all", inside=Inside(saturation=0.0))
    turned = replace(SUIT, inside=Inside(turn=90.0))
    after = keyed(astronaut, Correction(mattes=(grey, turned)), CODED, SIZE, 1, True)[1]
    assert after.coverage is not None
    assert after.coverage.share == 0  # nothing orange is left
    assert np.ptp(after.under, axis=2).max() <= 1 / 255 + 1e-6  # channels are rounded one by one
    before = keyed(astronaut, Correction(mattes=(turned, grey)), CODED, SIZE, 0, True)[1]
    assert before.mask is not None
    assert np.abs(before.mask - suit(code)).max() < 0.02
    assert np.allclose(before.under, code, rtol=0, atol=1e-6)
    off = keyed(astronaut, Correction(mattes=(replace(turned, on=False), grey)), CODED, SIZE, 0, True)[1]
    assert off.mask is not None
    assert np.array_equal(off.mask, before.mask)


def test_while_the_inside_is_nudged_the_result_follows_and_what_is_keyed_stays(astronaut: Loaded) -> None:
    code = data.astronaut()[::2, ::2] / 255
    dark = replace(SUIT, luma=Interval(0.0, 0.3, 0.1))
    for matte, slope in ((SUIT, 1.3), (SUIT, 0.7), (dark, 0.7), (SUIT, 1.3)):
        own = replace(matte, inside=Inside(balance=Balance(slope=(slope, 1.0, 1.0))))
        made, found = keyed(astronaut, Correction(mattes=(own,)), CODED, SIZE, 0, True, inside=True)
        assert found.mask is not None
        if matte is SUIT:
            assert np.abs(found.mask - suit(code)).max() < 0.02
        else:
            assert not found.mask[code @ (0.2126, 0.7152, 0.0722) > 0.41].any()
        changed = np.clip(code * (slope, 1.0, 1.0), 0, 1)  # slope of ASC CDL 1.2
        assert np.allclose(made.pixels, code + found.mask[..., None] * (changed - code), rtol=0, atol=1e-3)
        assert found.read is not found.under
        assert np.allclose(found.under, code, rtol=0, atol=1e-6)


def test_an_inverted_matte_takes_the_rest(astronaut: Loaded) -> None:
    found, rest = seen(astronaut, SUIT, rough=True), seen(astronaut, replace(SUIT, invert=True), rough=True)
    assert found.mask is not None
    assert np.allclose(rest.mask, 1 - found.mask, rtol=0, atol=1e-6)


@pytest.mark.parametrize("depth", [Depth.HALF, Depth.FLOAT])
def test_float_pixels_that_are_no_numbers_are_in_no_count(depth: Depth) -> None:
    code = data.astronaut()[200:300, 20:180] / 255
    light = np.where(code <= 0.04045, code / 12.92, ((code + 0.055) / 1.055) ** 2.4).astype(depth.dtype)
    light[10:30, 40:100] = np.nan
    light[50, 50, 1] = np.inf
    valid = np.isfinite(light).all(axis=2)
    picture = opened(light, depth)
    found = seen(picture, SUIT, LINEAR)
    assert found.mask is not None
    assert found.taken is not None
    assert found.cloud.sum() == valid.sum() == 100 * 160 - 1201
    assert np.isfinite(found.mask).all()
    assert (found.mask[~valid] == 0).all()
    # work code of linear delivery is sRGB, as the picture was before; half has eleven bits of a value
    assert np.abs(found.mask[valid] - suit(code)[valid]).max() < 0.03
    assert found.taken.sum() == np.count_nonzero(found.mask >= 0.5)
    made = view(picture, Correction(mattes=(SUIT,)), LINEAR, GRIDS, focus=Focus("matte", 0, "keyed"))
    assert np.isfinite(made.levels[valid]).all()
    assert made.readings.invalid == pytest.approx(100 * 1201 / 16000)


def test_a_grey_picture_is_seen_by_its_luma() -> None:
    pixels = data.camera()[::2, ::2, None]
    picture = opened(np.ascontiguousarray(pixels))
    found = seen(picture, FOG)
    t = np.clip(1 - (0.5 - pixels[..., 0] / 255) / 0.2, 0, 1)
    assert np.allclose(found.mask, t * t * (3 - 2 * t), rtol=0, atol=0.01)
    assert found.mask is not None
    assert found.taken is not None
    assert found.cloud.sum() == found.cloud[SIZE // 2, SIZE // 2] == 256**2
    assert found.taken.sum() == np.count_nonzero(found.mask >= 0.5)
    assert found.colours.hue.sum() == 0
    result = np.zeros((256, 256, 1), np.float32)
    assert np.array_equal(found.picture(result, "matte", False, 1)[..., 0], found.mask)
    assert np.allclose(found.picture(result, "keyed", False, 1), pixels / 255, rtol=0, atol=1e-6)
    hued = seen(picture, SUIT)
    assert hued.coverage is not None
    assert hued.coverage.taken == 0


def test_a_matte_that_a_picture_can_not_take_is_told() -> None:
    picture = opened(np.zeros((8, 8, 1), np.uint8))
    turned = replace(FOG, inside=Inside(turn=30.0))
    with pytest.raises(PoiseError, match="greyscale"):
        view(picture, Correction(mattes=(turned,)), CODED, GRIDS, focus=Focus("matte", 0))
    with pytest.raises(PoiseError, match="sunlight"):
        view(picture, NEUTRAL, Encoding("sunlight"), GRIDS, focus=Focus("matte"))
