"""Ten numbers instead of a full correction: exact where they fold, near where they do not, and no more is lost."""

import numpy as np
import pytest
from msgspec.structs import replace
from skimage import data
from skimage.color import deltaE_ciede2000

from poise.colour.difference import lab
from poise.colour.transfer import decode
from poise.correction import CODED, LINEAR, NEUTRAL, Balance, Correction, Curves, Encoding, Levels, Light, Matte, Tone
from poise.correction.model import Inside
from poise.engine import compile_engine
from poise.errors import PoiseError
from poise.frames.frame import Depth
from poise.solve import as_cdl

CUP = np.ascontiguousarray(data.coffee()[::2, ::2])
SOP = Balance((1.1, 1.0, 0.9), (0.02, -0.01, 0.03), (0.95, 1.0, 1.1))


def made(pixels: np.ndarray, correction: Correction) -> np.ndarray:
    return np.asarray(compile_engine(correction, CODED, Depth.U8).apply(pixels))


def only_ten(correction: Correction) -> bool:
    return replace(correction, balance=Balance(), saturation=1.0) == NEUTRAL


def test_levels_fold_exactly() -> None:
    whole = Correction(balance=SOP, levels=Levels(0.05, 0.9, 1.1, 0.4), saturation=1.2)
    found, told = as_cdl(CUP, whole, CODED, Depth.U8)
    assert told == ""
    assert only_ten(found)
    np.testing.assert_array_equal(made(CUP, found), made(CUP, whole))
    assert as_cdl(CUP, found, CODED, Depth.U8) == (found, "")


def test_a_power_drawn_as_a_curve_is_found_and_the_residual_is_what_the_engine_makes() -> None:
    """PCHIP through points of v ^ 1.5 is nearly power 1.5: from the definition of power."""
    points = tuple((x, x**1.5) for x in np.linspace(0, 1, 33).tolist())
    whole = Correction(curves=Curves(master=points))
    found, told = as_cdl(CUP, whole, CODED, Depth.U8)
    assert only_ten(found)
    assert found.balance.power == pytest.approx((1.5, 1.5, 1.5), abs=0.01)
    off = np.abs(made(CUP, found).astype(int) - made(CUP, whole)) / 2.55
    said = float(told.split(" by ")[1].split(" %")[0])
    assert said == pytest.approx(off.mean(), abs=0.15)  # the engine's codes are rounded to 8 bits


@pytest.mark.parametrize("light", [Light(0.3, 40, 5), Light(-0.5, -60, 10), Light(0, -120, 0)])
@pytest.mark.parametrize("picture", [data.coffee, data.astronaut, data.chelsea])
def test_light_becomes_ten_numbers_and_nothing_more_is_crushed_or_clipped(light: Light, picture: object) -> None:
    pixels = np.ascontiguousarray(picture()[::3, ::3])  # type: ignore[operator]
    whole = Correction(light=light, levels=Levels(0.02, 0.95), saturation=1.05)
    found, told = as_cdl(pixels, whole, CODED, Depth.U8)
    assert only_ten(found)
    assert "on average" in told
    near, wanted = made(pixels, found), made(pixels, whole)
    colours = (lab(decode("sRGB", each / 255)) for each in (near, wanted))
    # measured: 0.35 to 2.61
    assert float(deltaE_ciede2000(*colours).mean()) < 3

    def lost(out: np.ndarray) -> float:
        crushed = ((out == 0) & (pixels > 0)).any(axis=-1).mean()
        return float(max(crushed, ((out == 255) & (pixels < 255)).any(axis=-1).mean()))

    assert lost(near) <= max(0.02, lost(wanted)) + 0.005  # codes of 8 bits reach an end half a code before it


def test_grey_float_and_flat_pictures() -> None:
    grey = data.camera()[::3, ::3, None]
    found, _ = as_cdl(grey, Correction(tone=Tone(0.3, -0.2)), CODED, Depth.U8)
    assert only_ten(found)
    assert len(set(found.balance.slope)) == len(set(found.balance.power)) == 1
    compile_engine(found, CODED, Depth.U8).apply(grey)  # it refuses what tells channels apart
    burning = (CUP / 255 * 1.5).astype(np.float32)
    burning[0, 0] = np.nan
    assert only_ten(as_cdl(burning, Correction(light=Light(0.2, 20, 0)), CODED, Depth.FLOAT)[0])
    flat = np.full((8, 8, 3), 128, np.uint8)
    toned = Correction(tone=Tone(0.3, -0.2))
    level = as_cdl(flat, toned, CODED, Depth.U8)[0]
    assert int(np.abs(made(flat, level).astype(int) - made(flat, toned)).max()) <= 1
    nothing = np.full((4, 4, 3), np.nan, np.float32)
    assert as_cdl(nothing, toned, CODED, Depth.FLOAT) == (NEUTRAL, "no valid pixels: left alone")


def test_what_no_cdl_holds_is_refused() -> None:
    for encoding in (LINEAR, Encoding("sRGB", "ITU-R BT.709")):
        with pytest.raises(PoiseError, match="no ten numbers hold the way from"):
            as_cdl(CUP, NEUTRAL, encoding, Depth.U8)
    with pytest.raises(PoiseError, match="mattes"):
        as_cdl(CUP, Correction(mattes=(Matte("sail", inside=Inside(exposure=1)),)), CODED, Depth.U8)
