"""Premultiplied alpha: divided, corrected, multiplied; against numpy in float64."""

from typing import Any

import numpy as np
import pytest
from skimage import data

from poise.correction import CODED, NEUTRAL, Balance, Correction, Matte
from poise.correction.model import Inside, Interval
from poise.engine import compile_engine
from poise.engine.premultiplied import corrected
from poise.frames.frame import Depth, Frame, Pixels

PHOTO = data.astronaut()[100:164, 150:230] / 255.0
COVER = np.clip(np.linspace(-0.2, 1.2, 80) * np.ones((64, 1)), 0, 1)
LIFT = Correction(balance=Balance((1.5, 0.9, 1.2), (0.1, 0.05, -0.02), (1.0, 1.0, 1.0)))


def over(colour: Any, alpha: Any, depth: Depth) -> Frame:
    """A premultiplied frame of a depth."""
    pixels = np.dstack([colour * alpha[..., None], alpha])
    if not depth.is_float:
        pixels = np.floor(pixels * depth.maximum + 0.5)
    return Frame(pixels.astype(depth.dtype), depth, depth.is_float, premultiplied=True)


def made(frame: Frame, correction: Correction, depth: Depth, premultiplied: bool) -> Pixels:
    return corrected(frame, correction, depth, premultiplied, lambda c, a, b: compile_engine(c, CODED, a, b))


def cdl(colour: Any) -> Any:
    """ASC CDL 1.2 without power, unclamped."""
    return colour * LIFT.balance.slope + LIFT.balance.offset


@pytest.mark.parametrize("depth", [Depth.HALF, Depth.FLOAT])
def test_float_is_corrected_by_its_straight_colour(depth: Depth) -> None:
    frame = over(PHOTO, COVER, depth)
    result = made(frame, LIFT, depth, True)
    stored = frame.pixels.astype(np.float64)
    alpha = stored[..., 3:]
    with np.errstate(invalid="ignore", divide="ignore"):
        expected = np.where(alpha > 0, cdl(stored[..., :3] / alpha) * alpha, 0)
    np.testing.assert_array_equal(result[..., 3], frame.pixels[..., 3])
    # one rounding to the depth, and float32 on the way
    np.testing.assert_allclose(result[..., :3], expected, rtol=2**-11 if depth is Depth.HALF else 2**-20, atol=1e-7)
    assert (result[alpha[..., 0] == 0] == 0).all()


@pytest.mark.parametrize(("depth", "out"), [(Depth.HALF, Depth.FLOAT), (Depth.U8, Depth.U16)])
def test_every_row_is_corrected_at_another_depth(depth: Depth, out: Depth) -> None:
    frame = over(PHOTO, np.full(PHOTO.shape[:2], 0.5), depth)
    stored = frame.pixels.astype(np.float64) / (1 if depth.is_float else depth.maximum)
    expected = cdl(stored[..., :3] / stored[..., 3:])
    expected = (expected if depth.is_float else np.clip(expected, 0, 1)) * stored[..., 3:]
    result = made(frame, LIFT, out, True) / (1 if out.is_float else out.maximum)
    np.testing.assert_allclose(result[..., :3], expected, atol=2e-4 if depth.is_float else 1.5 / 255)


@pytest.mark.parametrize("depth", [Depth.U8, Depth.U16])
def test_integers_are_corrected_by_their_straight_colour(depth: Depth) -> None:
    frame = over(PHOTO, COVER, depth)
    result = made(frame, LIFT, depth, True)
    stored = frame.pixels / depth.maximum
    alpha = stored[..., 3:]
    expected = np.clip(cdl(stored[..., :3] / np.maximum(alpha, 1e-9)), 0, 1) * alpha * depth.maximum
    # half a code of the division, times slope 1.5, and the two roundings after it
    assert np.abs(result[..., :3] - expected).max() <= 0.75 + 1
    assert (result[..., :3] <= result[..., 3:]).all()
    assert (result[alpha[..., 0] == 0] == 0).all()


@pytest.mark.parametrize("depth", [Depth.U8, Depth.U16, Depth.HALF, Depth.FLOAT])
def test_what_no_correction_changes_is_as_stored(depth: Depth) -> None:
    """A neutral correction, and a matte that takes a part of the picture only."""
    rng = np.random.default_rng(4)
    alpha = rng.random((64, 80)) ** 3
    frame = over(PHOTO, alpha, depth)
    np.testing.assert_array_equal(made(frame, NEUTRAL, depth, True), frame.pixels)
    right = Correction(mattes=(Matte("right", luma=Interval(low=0.6), inside=Inside(saturation=0.5)),))
    result = made(frame, right, depth, True)
    luma = frame.colour.astype(np.float64) @ (0.2126, 0.7152, 0.0722) / depth.maximum
    assert (result[luma < 0.58] == frame.pixels[luma < 0.58]).all()
    assert (result[luma > 0.62] != frame.pixels[luma > 0.62]).any()


def test_a_glow_that_covers_nothing_stays_as_stored() -> None:
    """OpenEXR: "alpha 0 with colour" is light that is added; there is no straight colour to correct."""
    frame = over(PHOTO, COVER, Depth.HALF)
    frame.pixels[5, 5] = (2.0, 0.5, 0.25, 0.0)
    frame.pixels[6, 6] = (np.nan, 0.5, 0.25, 0.5)
    frame.pixels[7, 7] = (1.0, 0.5, 0.25, np.inf)
    frame.pixels[8, 8] = (1.0, 0.5, 0.25, -1.0)
    result = made(frame, LIFT, Depth.HALF, True)
    for at in ((5, 5), (6, 6), (7, 7), (8, 8)):
        np.testing.assert_array_equal(result[at], frame.pixels[at])


def test_into_straight_alpha_and_back() -> None:
    frame = over(PHOTO, COVER, Depth.FLOAT)
    straight = made(frame, LIFT, Depth.FLOAT, False)
    solid = COVER > 0
    np.testing.assert_allclose(straight[solid][:, :3], cdl(PHOTO)[solid], rtol=1e-5, atol=1e-6)
    back = made(Frame(straight, Depth.FLOAT, True), NEUTRAL, Depth.HALF, True)
    expected = cdl(PHOTO) * COVER[..., None]
    np.testing.assert_allclose(back[..., :3], expected, rtol=2**-10, atol=1e-6)
    coded = made(frame, NEUTRAL, Depth.U16, False)
    np.testing.assert_allclose(coded[solid][:, :3], (PHOTO * 65535)[solid], atol=1)
    np.testing.assert_allclose(coded[..., 3], COVER * 65535, atol=0.51)


def test_readings_see_the_straight_colour() -> None:
    np.testing.assert_allclose(over(PHOTO, COVER, Depth.FLOAT).colour[COVER > 0], PHOTO[COVER > 0], rtol=1e-6)
    opaque = over(PHOTO, np.ones((64, 80)), Depth.HALF)
    assert np.shares_memory(opaque.colour, opaque.pixels)
    assert not Frame(opaque.pixels, Depth.HALF).premultiplied
