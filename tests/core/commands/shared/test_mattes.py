"""What a matte of a correction covers: squares of known size, scipy's filters, and the same of a proxy."""

import numpy as np
import pytest
from msgspec.structs import replace
from PIL import Image
from scipy import ndimage
from skimage import data

from poise.commands.shared.mattes import covered
from poise.correction import CODED, Balance, Correction, Encoding, Interval, Levels, Matte
from poise.correction.model import HueInterval, Inside
from poise.frames import Depth, proxy
from poise.scopes import Coverage

# red of the BT.709 bars stands at 102.906 degrees on Cb/Cr (SMPTE RP 219 bars through ITU-R BT.709-6, item 3)
BUOY = Matte("buoy", hue=HueInterval(93, 113), chroma=Interval(0.1, 1))
HARBOUR = np.full((200, 300, 3), 128, np.uint8)
HARBOUR[80:120, 100:160] = (200, 20, 20)
RED = (HARBOUR[..., 0] == 200).astype(float)


def of(*mattes: Matte, index: int = 0, pixels: np.ndarray = HARBOUR, depth: Depth = Depth.U8) -> Coverage:
    return covered(Correction(mattes=mattes), index, CODED, pixels, depth)


def expected(matte: np.ndarray, keyed: np.ndarray = RED) -> tuple[float, ...]:
    outside, fallen = matte[keyed == 0].sum(), keyed > matte
    lost = (keyed[fallen] - matte[fallen]).sum() / keyed.sum()
    return 100 * matte.mean(), 100 * (matte > 0).mean(), 100 * outside / matte.sum(), 100 * lost


def test_a_square_of_red_is_covered_exactly() -> None:
    assert of(BUOY) == Coverage(share=4.0, taken=4.0, spread=0.0, lost=0.0)
    assert of(replace(BUOY, invert=True)) == Coverage(share=96.0, taken=96.0, spread=0.0, lost=0.0)
    assert of(replace(BUOY, on=False)).share == 4.0


@pytest.mark.parametrize("blur", [0.005, 0.02, 0.1])
def test_blur_is_seen_against_the_key_as_scipy_blurs_it(blur: float) -> None:
    found = of(replace(BUOY, blur=blur))
    share, taken, spread, lost = expected(ndimage.gaussian_filter(RED, blur * 200, mode="nearest", truncate=4))
    assert (found.share, found.spread, found.lost) == pytest.approx((share, spread, lost), abs=0.05)
    if blur < 0.1:  # a wide blur of the engine ends a little farther out, in values below 1e-4
        assert found.taken == pytest.approx(taken, abs=1)
    assert found.far == (blur == 0.1)


def test_denoise_is_seen_against_the_key_as_scipy_does_it() -> None:
    specks = HARBOUR.copy()
    specks[10:60:10, 10:290:10] = (200, 20, 20)
    red = (specks[..., 0] == 200).astype(float)
    found = of(replace(BUOY, denoise=0.01), pixels=specks)
    assert vars(found).values() == pytest.approx(expected(ndimage.median_filter(red, 5, mode="nearest"), red), abs=1e-6)
    assert found.lost == pytest.approx(100 * (5 * 28 + 12) / (5 * 28 + 2400))  # and three pixels of each corner


def test_a_matte_sees_what_those_before_it_did() -> None:
    away = replace(BUOY, name="first", inside=Inside(turn=120))
    assert of(away, BUOY, index=1).share == 0
    assert of(replace(away, on=False), BUOY, index=1).share == 4
    assert of(away, BUOY, index=0).share == 4
    with pytest.raises(IndexError):
        of(BUOY, index=1)


def test_a_matte_sees_the_picture_corrected() -> None:
    fog = Matte("fog", luma=Interval(0.8, 1), blur=0.01)
    assert covered(Correction(mattes=(fog,)), 0, CODED, HARBOUR, Depth.U8).share == 0
    up = Correction(mattes=(fog,), levels=Levels(white=0.5), balance=Balance())
    assert covered(up, 0, CODED, HARBOUR, Depth.U8).share == pytest.approx(96, abs=0.01)
    narrow = HARBOUR // 2
    assert covered(up, 0, Encoding(range="narrow"), narrow, Depth.U8).share == 0


def test_grey_and_alpha_and_pixels_that_are_not_numbers() -> None:
    ramp = np.tile(np.arange(256, dtype=np.uint8), (10, 1))[..., None]
    fog = Matte("fog", luma=Interval(128 / 255, 1))
    assert of(fog, pixels=ramp).share == of(fog, pixels=np.concatenate([ramp, ramp], axis=-1)).share == 50
    assert of(BUOY, pixels=ramp) == Coverage(0.0, 0.0, 0.0, 0.0)
    lost = np.full((10, 10, 3), 0.9, np.float32)
    lost[:2] = np.nan
    assert of(fog, pixels=lost, depth=Depth.FLOAT).share == pytest.approx(80)


@pytest.mark.parametrize("shape", [(1, 40), (40, 1), (1, 1)])
def test_the_smallest_pictures(shape: tuple[int, int]) -> None:
    pixels = np.full((*shape, 3), 240, np.uint8)
    fog = Matte("fog", luma=Interval(0.5, 1), blur=0.5, denoise=0.1)
    assert vars(of(fog, pixels=pixels)).values() == pytest.approx((100, 100, 0, 0), abs=0.01)


MATTES = {
    "astronaut": Matte("jacket", hue=HueInterval(90, 150, 15), chroma=Interval(0.05, 1, 0.03)),
    "coffee": Matte("light", luma=Interval(0.6, 1, 0.1)),
    "chelsea": Matte("dark", luma=Interval(0, 0.4, 0.1), invert=True),
    "rocket": Matte("sky", hue=HueInterval(300, 40, 20), chroma=Interval(0.03, 1, 0.02)),
}


@pytest.mark.parametrize("photograph", MATTES)
def test_a_proxy_covers_what_full_resolution_does_within_a_per_cent(photograph: str) -> None:
    pixels = getattr(data, photograph)()
    height, width, _ = pixels.shape
    large = np.asarray(Image.fromarray(pixels).resize((width * 3, height * 3), Image.Resampling.LANCZOS))
    small = proxy(large, 960, 540)
    assert small.size * 3 < large.size
    for denoise, blur in ((0, 0), (0.004, 0.004), (0.014, 0.02), (0, 0.1)):
        matte = replace(MATTES[photograph], denoise=denoise, blur=blur)
        whole, seen = of(matte, pixels=large), of(matte, pixels=small)
        assert 1 < whole.share < 99
        assert seen.share == pytest.approx(whole.share, abs=1)
        assert seen.spread == pytest.approx(whole.spread, abs=1)
