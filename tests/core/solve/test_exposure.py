"""Exposure of float pictures: white comes near full range in light, and the sun drowns nothing."""

import numpy as np
import pytest
from skimage import data

from poise.colour.transfer import decode, encode
from poise.correction import CODED, LINEAR, Encoding
from poise.engine import compile_engine
from poise.frames.frame import Depth
from poise.solve import auto
from poise.solve.exposure import solve_exposure

PHOTOGRAPH = decode("sRGB", data.astronaut()[::3, ::3] / 255).astype(np.float32)


@pytest.mark.parametrize("stops", [-7, -4, 4, 7])
def test_a_float_picture_far_off_comes_back(stops: float) -> None:
    pixels = PHOTOGRAPH * np.float32(2.0**stops)
    found = auto(pixels, LINEAR, Depth.FLOAT)
    assert found.correction.light.exposure == pytest.approx(-stops, abs=0.2)
    assert any("exposure" in note for note in found.notes)
    work = compile_engine(found.correction, LINEAR, Depth.FLOAT, output="work").apply(pixels)
    assert np.percentile(work @ [0.2126, 0.7152, 0.0722], 99.5) == pytest.approx(0.965, abs=0.03)
    plain = auto(PHOTOGRAPH, LINEAR, Depth.FLOAT).correction
    assert found.correction.levels.white == pytest.approx(plain.levels.white, abs=0.04)


@pytest.mark.parametrize("stops", [-0.5, 0, 0.5])
def test_less_than_a_stop_is_left_to_levels(stops: float) -> None:
    assert auto(PHOTOGRAPH * np.float32(2.0**stops), LINEAR, Depth.FLOAT).correction.light.exposure == 0


def test_an_integer_picture_that_is_dark_is_not_raised() -> None:
    dark = (data.astronaut()[::3, ::3] // 12).astype(np.uint8)
    assert auto(dark, CODED, Depth.U8).correction.light.exposure == 0


def test_a_log_picture_that_is_over_comes_down() -> None:
    code = np.clip(encode("ACEScct", PHOTOGRAPH.astype(float) * 16), 0, 1)
    log = np.rint(code * 65535).astype(np.uint16)
    found = auto(log, Encoding(source="ACEScct", delivery="sRGB"), Depth.U16)
    assert found.correction.light.exposure == pytest.approx(-4, abs=0.2)


def test_the_sun_does_not_drown_the_picture() -> None:
    pixels = np.full((100, 100, 3), 0.2)
    pixels[:10, :20] = 5000
    found = solve_exposure(pixels, Encoding(), under=True)
    assert found.stops == pytest.approx(np.log2(0.09 / 0.2), abs=0.01)
    assert "held" in found.note


@pytest.mark.parametrize("picture", [np.zeros((4, 4, 3)), np.full((4, 4, 3), np.nan), np.full((4, 4, 3), 1e-9)])
def test_nothing_has_no_exposure(picture: np.ndarray) -> None:
    assert solve_exposure(picture, Encoding(), under=True).stops == 0


def test_the_limits_of_exposure_hold() -> None:
    assert solve_exposure(np.full((4, 4, 3), 1e5), Encoding(), under=True).stops == -8
