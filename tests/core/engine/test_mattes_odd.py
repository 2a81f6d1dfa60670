"""Mattes at their limits through the engine: hue ranges of every kind, eight in a row, curves before them."""

import numpy as np
import pytest
from msgspec.structs import replace
from skimage import data

from poise.chain import matte as formula
from poise.correction import CODED, LINEAR, Balance, Correction, Curves, Matte
from poise.correction.model import HueInterval, Inside, Interval
from poise.engine import compile_engine, matte_of, reference, rounded
from poise.frames.frame import Depth


def wheel() -> tuple[np.ndarray, np.ndarray]:
    """A picture of all hues at 16 bits, and the hue of each pixel by the definition of ITU-R BT.709-6, item 3."""
    angles = np.radians(np.arange(0, 360, 0.05)).reshape(40, 180)
    cb, cr = 0.2 * np.cos(angles), 0.2 * np.sin(angles)
    red, blue = 0.5 + 1.5748 * cr, 0.5 + 1.8556 * cb
    green = (0.5 - 0.2126 * red - 0.0722 * blue) / 0.7152
    codes = np.floor(np.stack([red, green, blue], axis=-1) * 65535 + 0.5).astype(np.uint16)
    r, g, b = np.moveaxis(codes / 65535, -1, 0)
    luma = 0.2126 * r + 0.7152 * g + 0.0722 * b
    return codes, np.degrees(np.arctan2((r - luma) / 1.5748, (b - luma) / 1.8556)) % 360


@pytest.mark.parametrize(
    ("low", "high", "soft"),
    [
        (340, 20, 10),
        (20, 340, 10),
        (20, 340, 30),  # the two soft ends meet
        (350, 350, 5),
        (0, 360, 0),
        (0, 360, 90),
        (360, 0, 20),  # no width, at 0
        (0, 0, 180),
        (359, 1, 180),
        (100, 280, 0),
        (180, 179, 0.5),
        (1, 0, 1),
    ],
)
@pytest.mark.parametrize("invert", [False, True])
def test_hue_ranges_of_every_kind(low: float, high: float, soft: float, invert: bool) -> None:
    pixels, hue = wheel()
    width = 360 if (low, high) == (0, 360) else (high - low) % 360
    up = (hue - low) % 360
    beyond = np.where(up <= width, 0, np.minimum(up - width, 360 - up))
    t = np.clip(1 - beyond / soft, 0, 1) if soft else (beyond <= 0).astype(float)
    expected = t * t * (3 - 2 * t)  # smoothstep
    one = Matte("sea", invert=invert, hue=HueInterval(low, high, soft))
    found = matte_of(Correction(mattes=(one,)), 0, CODED, Depth.U16).apply(pixels)
    # without softness an end decides between 0 and 1, where float32 and float64 may part within 1e-4 of a degree
    clear = np.abs((hue - np.array([low, high])[:, None, None] + 180) % 360 - 180).min(axis=0) > 1e-3
    error = np.abs(found - (1 - expected if invert else expected))
    assert error[clear].max() < 1e-4
    assert clear.mean() > 0.99


def test_a_matte_that_takes_all_is_its_correction_and_one_that_takes_nothing_is_none() -> None:
    pixels = (data.coffee()[::8, ::8].astype(np.uint16) * 257) + 3
    inside = Inside(balance=Balance((1.1, 1.0, 0.9), (0.01, 0, 0), (1.0, 0.95, 1.0)))
    every = Matte("all", blur=0.1, denoise=0.1, inside=inside)
    out = compile_engine(Correction(mattes=(every,)), CODED, Depth.U16).apply(pixels)
    plain = compile_engine(Correction(balance=inside.balance), CODED, Depth.U16).apply(pixels)
    assert np.abs(out.astype(int) - plain.astype(int)).max() <= 2
    for none in (
        replace(every, luma=Interval(0.6, 0.4, 1)),
        replace(every, chroma=Interval(0.99, 1)),
        replace(every, invert=True),
    ):
        assert np.array_equal(compile_engine(Correction(mattes=(none,)), CODED, Depth.U16).apply(pixels), pixels)


def eight() -> tuple[Matte, ...]:
    """Eight mattes all round the wheel, the second half inverted, denoised and blurred."""
    turned = Inside(0.1, 20, 1.1, Balance((1.02, 1, 0.98), (0.01, 0, -0.01), (1.0, 0.97, 1.03)))
    return tuple(
        Matte(
            f"buoy {i}",
            invert=i > 4,
            denoise=0.01 * (i > 5),
            blur=0.01 * (i > 3),
            hue=HueInterval(45.0 * (i + 3) % 360, (45.0 * (i + 3) + 60) % 360, 20),
            chroma=Interval(0.05, 1, 0.05),
            inside=turned,
        )
        for i in range(8)
    )


@pytest.mark.parametrize("depth", [Depth.U8, Depth.U16, Depth.FLOAT])
def test_eight_mattes_in_a_row(depth: Depth) -> None:
    photograph = data.coffee()[::4, ::4] / 255
    pixels = photograph.astype(np.float32) if depth.is_float else rounded(photograph, depth)
    bent = Curves(red=((0.0, 0.0), (0.5, 0.55), (1.0, 1.0)), master=((0.0, 0.02), (0.4, 0.38), (1.0, 1.0)))
    correction = Correction(curves=bent, saturation=1.1, mattes=eight())
    encoding = LINEAR if depth.is_float else CODED
    ours = compile_engine(correction, encoding, depth).apply(pixels, threads=2)
    theirs = reference(pixels, correction, encoding, depth)
    plain = reference(pixels, replace(correction, mattes=()), encoding, depth)
    assert np.abs(theirs - plain).max() > 0.2
    if depth.is_float:
        assert np.abs(ours - theirs).max() < 1e-5
    else:
        assert np.abs(ours.astype(int) - rounded(theirs, depth).astype(int)).max() <= 2


def test_the_eighth_matte_is_shown_on_the_result_of_seven() -> None:
    pixels = rounded(data.coffee()[::4, ::4] / 255, Depth.U16)
    correction = Correction(mattes=eight())
    work = reference(pixels, replace(correction, mattes=eight()[:7]), CODED, Depth.U16)
    exact = formula.mask(work, eight()[7])
    found = matte_of(correction, 7, CODED, Depth.U16).apply(pixels)
    assert np.abs(found - exact).max() < 1e-3
    assert np.abs(found - formula.mask(pixels / 65535, eight()[7])).max() > 0.1


@pytest.mark.parametrize("denoise", [0.0, 2 / 600, 4 / 600])
@pytest.mark.parametrize("blur", [0.0, 3 / 600, 12 / 600])
def test_most_of_a_picture_is_not_keyed(denoise: float, blur: float) -> None:
    """Strips in which nothing is keyed are passed over; the matte is that of the formula, at their edges too."""
    crop = data.astronaut()[:600, 100:180].astype(np.uint16) * 257  # NASA's photograph, in scikit-image
    grey = np.repeat(np.vstack([crop, crop[:88]])[..., 1:2], 3, axis=2)
    grey[250:262, 10:50] = (9000, 60000, 12000)  # over the edge of strips of 64 and of 256 rows
    one = Matte("buoy", hue=HueInterval(200, 250, 10), chroma=Interval(0.2, 1, 0.05), denoise=denoise, blur=blur)
    one = replace(one, inside=Inside(exposure=0.5, turn=30))
    found = matte_of(Correction(mattes=(one,)), 0, CODED, Depth.U16).apply(grey)
    assert np.abs(found - formula.mask(grey / 65535, one)).max() < 1e-4
    assert 0 < np.count_nonzero(found.any(axis=1)) < 220
    plain = Correction(balance=Balance((1.1, 1.0, 0.9)))
    without, changed = (
        compile_engine(correction, CODED, Depth.U16).apply(grey)
        for correction in (plain, replace(plain, mattes=(one,)))
    )
    kept = matte_of(replace(plain, mattes=(one,)), 0, CODED, Depth.U16).apply(grey) == 0
    assert np.array_equal(changed[kept], without[kept])
    assert not np.array_equal(changed, without)
