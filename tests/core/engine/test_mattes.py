"""Mattes through the engine: against the float64 reference, exact outside, and whatever is odd about a picture."""

from collections.abc import Iterator

import numpy as np
import pytest
from msgspec.structs import replace
from skimage import data
from thorough import many

from poise.chain import matte as formula
from poise.chain import order
from poise.correction import CODED, LINEAR, Balance, Correction, Encoding, Levels, Light, Matte
from poise.correction.model import HueInterval, Inside, Interval
from poise.engine import COARSE, compile_engine, matte_of, reference, rounded
from poise.errors import PoiseError
from poise.frames.frame import Depth

PHOTOGRAPHS = [data.astronaut()[:72, 150:250], data.chelsea()[80:152, 120:220], data.coffee()[120:192, 180:280]]
BRIGHTER = Inside(exposure=0.5, turn=30, saturation=1.2)
BRIGHT = Matte("sail", luma=Interval(0.4, 1, 0.1), blur=0.02, inside=BRIGHTER)


def codes(photograph: np.ndarray, depth: Depth) -> np.ndarray:
    values = (photograph + np.random.default_rng(3).random(photograph.shape)) / 256
    if depth.is_float:
        return ((values**2.2) * 2 - 0.02).astype(depth.dtype)
    return np.floor(values * (depth.maximum + 1)).astype(depth.dtype)


def random_matte(rng: np.random.Generator) -> Matte:
    def u(low: float, high: float) -> float:
        return float(rng.uniform(low, high))

    chroma, luma = u(0.02, 0.1), u(0, 0.5)
    balance = Balance(
        tuple(rng.uniform(0.9, 1.1, 3)), tuple(rng.uniform(-0.05, 0.05, 3)), tuple(rng.uniform(0.9, 1.1, 3))
    )
    return Matte(
        "buoy",
        invert=bool(rng.random() < 0.2),
        denoise=float(rng.choice([0, 0, 0.014, 0.028])),
        blur=float(rng.choice([0, 0.004, 0.02, 0.1])),
        hue=HueInterval(u(0, 360), u(0, 360), u(2, 60)),
        chroma=Interval(chroma, u(chroma, 1), u(0.02, 0.1)),
        luma=Interval(luma, u(luma, 1), u(0.02, 0.2)),
        inside=Inside(u(-0.5, 0.5), u(-60, 60), u(0.6, 1.4), balance),
    )


def corrections() -> Iterator[tuple[np.ndarray, Correction]]:
    rng = np.random.default_rng(21)
    pictures = [codes(photograph, Depth.U16) for photograph in PHOTOGRAPHS]
    for turn in range(many(20, 200)):
        correction = Correction(mattes=(random_matte(rng),))
        if turn % 4 == 2:
            correction = replace(correction, light=Light(flare=tuple(rng.uniform(0, 0.1, 3)), flare_in_code=0.5))
        if turn % 2:
            correction = replace(correction, balance=Balance(tuple(rng.uniform(0.9, 1.1, 3))), saturation=1.1)
        yield pictures[turn % 3], correction


def test_mattes_within_1e_4_and_2_codes_of_the_reference_and_exact_outside() -> None:
    selected = 0
    for pixels, correction in corrections():
        work = pixels / 65535
        for stage in order.steps(correction, CODED, clamp=True):
            work = stage(work)
        exact = formula.mask(work, correction.mattes[0])
        found = matte_of(correction, 0, CODED, Depth.U16).apply(pixels)
        assert np.abs(found - exact).max() < 1e-4, correction
        ours = compile_engine(correction, CODED, Depth.U16).apply(pixels)
        theirs = rounded(reference(pixels, correction, CODED, Depth.U16), Depth.U16)
        assert np.abs(ours.astype(int) - theirs.astype(int)).max() <= 2, correction
        plain = compile_engine(replace(correction, mattes=()), CODED, Depth.U16).apply(pixels)
        assert np.array_equal(ours[found == 0], plain[found == 0])
        selected += bool((found > 0.5).any() and (found == 0).any())
    assert selected > many(4, 50)  # enough of them have both an inside and an outside


LOG = Encoding("ACEScct", "ITU-R BT.1886", "ACEScg", "ITU-R BT.2020")
NARROW = Encoding(range="narrow")


@pytest.mark.parametrize("encoding", [CODED, LINEAR, LOG, NARROW], ids=["coded", "linear", "log", "narrow"])
@pytest.mark.parametrize("depth", list(Depth))
def test_every_depth_and_encoding(depth: Depth, encoding: Encoding) -> None:
    if encoding is NARROW and depth.is_float:
        return  # refused without mattes too
    pixels = codes(PHOTOGRAPHS[2], depth)
    if encoding is LOG and depth.is_float:
        pixels = pixels / depth.dtype.type(2)  # twice full scale is 2^25 in light
    sail = replace(BRIGHT, luma=Interval(0.85, 1, 0.03), blur=0.01)
    blue = replace(BRIGHT, name="sea", luma=Interval(0.4, 0.45, 0.05), chroma=Interval(0.05, 1, 0.1))
    for base in (Correction(), Correction(light=Light(0.2, 10, 5), levels=Levels(0.02, 0.95))):
        correction = replace(base, mattes=(sail, blue))
        engine = compile_engine(correction, encoding, depth)
        ours = engine.apply(pixels)
        theirs = reference(pixels, correction, encoding, depth)
        if depth.is_float:
            near = 2e-3 if depth is Depth.HALF else 1e-5
            assert (np.abs(ours - theirs) / np.maximum(np.abs(theirs), 1)).max() < near
        else:
            assert np.abs(ours.astype(int) - rounded(theirs, depth).astype(int)).max() <= (
                2 if depth is Depth.U16 else 1
            )
        assert np.array_equal(ours, engine.apply(pixels, threads=3))
        outside = (matte_of(correction, 0, encoding, depth).apply(pixels) == 0) & (
            matte_of(correction, 1, encoding, depth).apply(pixels) == 0
        )
        plain = compile_engine(base, encoding, depth).apply(pixels)
        assert outside.any()
        assert np.array_equal(ours[outside], plain[outside])


def test_each_matte_sees_the_result_of_those_before() -> None:
    pixels = np.full((4, 4, 3), 100, np.uint8)
    up = Matte("first", inside=Inside(balance=Balance(offset=(0.3, 0.3, 0.3))))
    seen = Matte("second", luma=Interval(0.6, 1), inside=Inside(balance=Balance(offset=(0.1, 0.1, 0.1))))
    run = lambda *mattes: int(compile_engine(Correction(mattes=mattes), CODED, Depth.U8).apply(pixels)[0, 0, 0])  # noqa: E731
    assert [run(seen), run(up), run(up, seen), run(seen, up)] == [100, 177, 202, 177]  # 25.5 and 76.5 codes
    assert run(*[up] * 8) == 255
    assert run(replace(up, on=False), seen) == 100


def test_mattes_that_change_nothing_cost_nothing() -> None:
    idle = (Matte("quay", blur=0.5), replace(BRIGHT, on=False))
    assert compile_engine(Correction(mattes=idle), CODED, Depth.U16).identity
    assert compile_engine(Correction(saturation=1.1, mattes=idle), CODED, Depth.U16).keyed is None


def test_work_code_and_other_depths_hold_the_matte() -> None:
    pixels = codes(PHOTOGRAPHS[1], Depth.U16)
    correction = Correction(saturation=1.1, mattes=(BRIGHT,))
    file = compile_engine(correction, CODED, Depth.U16).apply(pixels)
    work = compile_engine(correction, CODED, Depth.U16, output="work").apply(pixels)
    assert np.array_equal(work, file)
    quick = compile_engine(correction, CODED, Depth.U16, output="work", entries=COARSE).apply(pixels)
    assert np.abs(quick.astype(int) - file.astype(int)).max() < 200
    eight = compile_engine(correction, CODED, Depth.U16, Depth.U8).apply(pixels)
    theirs = rounded(reference(pixels, correction, CODED, Depth.U16, Depth.U8), Depth.U8)
    assert np.abs(eight.astype(int) - theirs.astype(int)).max() <= 1


def test_a_proxy_shows_what_full_resolution_does() -> None:
    photograph = np.kron(PHOTOGRAPHS[0], np.ones((4, 4, 1), np.uint8))
    matte = replace(BRIGHT, blur=0.05, denoise=0.014)
    correction = Correction(mattes=(matte,))
    full = matte_of(correction, 0, CODED, Depth.U8).apply(photograph)
    small = matte_of(correction, 0, CODED, Depth.U8).apply(photograph[2::4, 2::4])
    assert np.abs(full[2::4, 2::4] - small).max() < 0.06
    assert np.abs(full[2::4, 2::4] - small).mean() < 0.01


def test_alpha_is_untouched_and_nan_does_not_spread() -> None:
    rgba = np.concatenate([codes(PHOTOGRAPHS[0], Depth.FLOAT), np.full((72, 100, 1), 0.5, np.float32)], axis=-1)
    rgba[10, 20, 1] = np.nan
    rgba[40, 50] = (np.inf, 0.1, -np.inf, 0.25)
    wide = replace(BRIGHT, blur=0.1, invert=True)
    engine = compile_engine(Correction(mattes=(wide,)), LINEAR, Depth.FLOAT)
    out = engine.apply(rgba, threads=2)
    assert np.array_equal(out[..., 3], rgba[..., 3])
    for at in ((10, 20), (40, 50)):
        np.testing.assert_array_equal(out[at], rgba[at])
        assert matte_of(Correction(mattes=(wide,)), 0, LINEAR, Depth.FLOAT).apply(rgba)[at] == 0
    assert np.isfinite(np.delete(out.reshape(-1, 4), [1020, 4050], axis=0)).all()
    exact = reference(rgba[..., :3], Correction(mattes=(wide,)), LINEAR, Depth.FLOAT)
    whole = np.isfinite(rgba).all(axis=-1)
    np.testing.assert_allclose(out[whole][:, :3], exact[whole], atol=1e-5)


def test_grey_takes_luma_and_refuses_a_turn_by_name() -> None:
    grey = codes(PHOTOGRAPHS[0], Depth.U8)[..., :1]
    alpha = np.concatenate([grey, grey], axis=-1)
    lift = Matte("fog", luma=Interval(0.3, 0.6, 0.1), blur=0.01, inside=Inside(exposure=0.5))
    correction = Correction(mattes=(lift,))
    exact = rounded(reference(grey.repeat(3, -1), correction, CODED, Depth.U8), Depth.U8)[..., :1]
    out = compile_engine(correction, CODED, Depth.U8).apply(alpha)
    assert np.abs(out[..., :1].astype(int) - exact.astype(int)).max() <= 1
    assert np.array_equal(out[..., 1:], grey)
    assert (out[..., :1] != grey).any()
    for limit in ({"hue": HueInterval(340, 20)}, {"chroma": Interval(0.1, 1)}):
        none = Correction(mattes=(replace(lift, **limit),))
        assert np.array_equal(compile_engine(none, CODED, Depth.U8).apply(grey), grey)
    for inside in (Inside(turn=5), Inside(balance=Balance((1.1, 1, 1)))):
        with pytest.raises(PoiseError, match=r"greyscale.*'fog'"):
            compile_engine(Correction(mattes=(replace(lift, inside=inside),)), CODED, Depth.U8).apply(grey)


@pytest.mark.parametrize("shape", [(1, 40), (40, 1), (1, 1), (3, 5)])
@pytest.mark.parametrize("matte", [replace(BRIGHT, blur=0.5, denoise=0.1), replace(BRIGHT, denoise=0.1, invert=True)])
def test_small_pictures_and_a_blur_wider_than_they_are(shape: tuple[int, int], matte: Matte) -> None:
    pixels = codes(PHOTOGRAPHS[2], Depth.U16)[: shape[0], : shape[1]]
    correction = Correction(mattes=(matte,))
    ours = compile_engine(correction, CODED, Depth.U16).apply(pixels, threads=4)
    theirs = rounded(reference(pixels, correction, CODED, Depth.U16), Depth.U16)
    assert np.abs(ours.astype(int) - theirs.astype(int)).max() <= 2


def test_empty_ranges_and_ranges_of_all() -> None:
    pixels = codes(PHOTOGRAPHS[0], Depth.U8)
    every = matte_of(Correction(mattes=(Matte("all"),)), 0, CODED, Depth.U8).apply(pixels)
    empty = Matte("none", luma=Interval(0.6, 0.4, 0.5))
    none = matte_of(Correction(mattes=(empty,)), 0, CODED, Depth.U8).apply(pixels)
    assert every.dtype == np.float32
    assert (every.min(), none.max()) == (1, 0)
    assert matte_of(Correction(mattes=(replace(empty, invert=True),)), 0, CODED, Depth.U8).apply(pixels).min() == 1


def test_float_delivery_goes_out_of_range_and_integers_clamp() -> None:
    bright = np.full((2, 2, 3), 0.9, np.float32)
    up = Correction(mattes=(Matte("lamp", inside=Inside(exposure=2)),))
    np.testing.assert_allclose(compile_engine(up, LINEAR, Depth.FLOAT).apply(bright), 3.6, rtol=1e-5)
    assert (compile_engine(up, CODED, Depth.U8).apply((bright * 255).astype(np.uint8)) == 255).all()
