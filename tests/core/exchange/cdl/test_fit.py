"""The nearest CDL: what one CDL did is found again, and nothing near the answer is nearer."""

from dataclasses import replace

import numpy as np
import pytest
from skimage import data

from poise.correction import CODED, LINEAR, Correction, Curves, Encoding, Light, Tone
from poise.engine import compile_engine
from poise.exchange.cdl import Cdl, fit
from poise.exchange.cdl.fit import residual
from poise.frames.frame import Depth

PICTURE = np.ascontiguousarray(data.astronaut()[::8, ::8]).astype(np.uint16) * 257


def test_linear_light_by_exposure_is_slope() -> None:
    """Two stops are a slope of 4 in linear light: from the definition of a stop."""
    light = (PICTURE / 65535).astype(np.float32) ** 2.2
    found, off = fit(light, Correction(light=Light(exposure=2)), LINEAR, Depth.FLOAT)
    assert found.slope == pytest.approx((4, 4, 4), rel=1e-3)
    assert (found.offset, found.power) == (pytest.approx((0, 0, 0), abs=1e-4), pytest.approx((1, 1, 1), abs=1e-3))
    assert off.maximum == 1
    assert off.mean < 1e-4


def test_a_curve_that_is_a_power_is_found() -> None:
    """A master curve through points of v ^ 1.5, PCHIP between them, is nearly power 1.5."""
    points = tuple((x, x**1.5) for x in np.linspace(0, 1, 33).tolist())
    found, off = fit(PICTURE, Correction(curves=Curves(master=points), saturation=0.8), CODED, Depth.U16)
    assert found.power == pytest.approx((1.5, 1.5, 1.5), abs=0.01)
    assert found.saturation == pytest.approx(0.8, abs=0.01)
    assert off.worst < 0.002 * 65535


FLARE = Light(flare=(0.05, 0.09, 0.02), flare_in_code=0.3)


@pytest.mark.parametrize(
    "correction", [Correction(tone=Tone(0.5, -0.4)), Correction(Light(0.4, 60, 5)), Correction(FLARE)]
)
def test_nothing_near_is_nearer(correction: Correction) -> None:
    found, _ = fit(PICTURE, correction, CODED, Depth.U16)
    goal = compile_engine(correction, CODED, Depth.U16).apply(PICTURE)

    def squares(cdl: Cdl) -> float:
        got = compile_engine(cdl.correction, CODED, Depth.U16).apply(PICTURE)
        return float(np.square(got.astype(float) - goal).mean())

    least = squares(found)
    for name in ("slope", "offset", "power"):
        for channel in range(3):
            for step in (-0.003, 0.003):
                values = list(getattr(found, name))
                values[channel] += step
                assert squares(replace(found, **{name: tuple(values)})) > least
    for step in (-0.01, 0.01):
        assert squares(replace(found, saturation=found.saturation + step)) > least


def test_a_grey_picture_has_one_of_each() -> None:
    grey = data.camera()[::4, ::4, None]
    found, off = fit(np.ascontiguousarray(grey), Correction(tone=Tone(0.4, -0.3)), CODED, Depth.U8)
    assert (len(set(found.slope)), len(set(found.offset)), len(set(found.power)), found.saturation) == (1, 1, 1, 1)
    assert off.maximum == 255
    assert off.mean < 2


def test_narrow_range_is_fitted_at_full_range() -> None:
    narrow = np.rint(PICTURE / 65535 * (876 << 6) + (64 << 6)).astype(np.uint16)  # ITU-R BT.709-6, item 5
    full, _ = fit(PICTURE, Correction(light=Light(exposure=0.3)), CODED, Depth.U16)
    found, _ = fit(narrow, Correction(light=Light(exposure=0.3)), Encoding(range="narrow"), Depth.U16)
    assert np.allclose(found.slope, full.slope, atol=0.01)
    assert np.allclose(found.power, full.power, atol=0.01)


@pytest.mark.parametrize(
    "picture",
    [
        np.zeros((1, 1, 3), np.uint16),
        np.full((2, 3, 3), 65535, np.uint16),
        np.full((5, 5, 3), 30000, np.uint16),
    ],
)
def test_pictures_of_one_value(picture: np.ndarray) -> None:
    found, off = fit(picture, Correction(light=Light(exposure=0.5)), CODED, Depth.U16)
    assert off.worst <= 1
    assert min(found.slope) >= 0
    assert min(found.power) >= 0.1


def test_what_is_no_number_is_left_out() -> None:
    picture = np.array([[[0.2, np.nan, 0.4], [0.5, 0.25, np.inf], [0.5, 0.25, 0.75]]], np.float32)
    found, off = fit(picture, Correction(light=Light(exposure=1)), LINEAR, Depth.FLOAT)
    assert np.isfinite([*found.slope, *found.offset, *found.power, found.saturation, off.mean, off.worst]).all()
    nothing, off = fit(picture[:, :1], Correction(light=Light(exposure=1)), LINEAR, Depth.FLOAT)
    assert nothing == Cdl()


def test_the_residual_is_of_all_pixels() -> None:
    goal = PICTURE.copy()
    goal[-1, -1, 2] ^= 4096
    off = residual(PICTURE, goal, Cdl(), CODED, Depth.U16)
    assert (off.worst, off.mean) == (4096, pytest.approx(4096 / PICTURE.size))
    assert str(off) == f"off by {off.mean:.2f} codes on average, 4096 at worst, of 65535"
