"""Flare against values worked from its definition with the formulas of the standards, written out here."""

from decimal import Decimal, getcontext

import numpy as np
import PyOpenColorIO as ocio
import pytest
from skimage import data

from poise.chain import light, order
from poise.colour.transfer import black_code, decode, names
from poise.correction import CODED, LINEAR, Balance, Correction, Encoding, Levels, Light
from poise.correction import controls as c
from poise.engine import compile_engine, operations, reference, rounded
from poise.errors import PoiseError
from poise.exchange.cdl import fold, parts_beyond_cdl
from poise.frames.frame import Depth
from poise.solve.working_code import run

getcontext().prec = 40
SHARES = (0.0, 0.3, 0.7, 1.0)
FLARE = (0.09, 0.12, 0.05)
RISING = sorted(set(names()) - {"ITU-R BT.601", "ITU-R BT.709", "ITU-R BT.2020", "N-Log", "RIMM RGB"})
"""Those without a backward step where their published rounded constants meet."""


def srgb(code: Decimal) -> Decimal:
    """IEC 61966-2-1, code to light."""
    return (
        code / Decimal("12.92")
        if code <= Decimal("0.04045")
        else ((code + Decimal("0.055")) / Decimal("1.055")) ** Decimal("2.4")
    )


def srgb_code(lit: Decimal) -> Decimal:
    """IEC 61966-2-1, light to code."""
    if lit <= Decimal("0.0031308"):
        return lit * Decimal("12.92")
    return Decimal("1.055") * lit ** (1 / Decimal("2.4")) - Decimal("0.055")


def bt709(code: Decimal) -> Decimal:
    """ITU-R BT.709-6, item 1.2, code to light."""
    return (
        code / Decimal("4.5")
        if code < Decimal("0.081")
        else ((code + Decimal("0.099")) / Decimal("1.099")) ** (1 / Decimal("0.45"))
    )


def by_hand(code: float, flare: float, share: float, function: object = srgb) -> Decimal:
    """Light of a code with flare off, from the definition."""
    v, f, s = (Decimal(repr(one)) for one in (code, flare, share))
    after, left = (v - s * f) / (1 - s * f), (f - s * f) / (1 - s * f)
    lost = function(left)  # type: ignore[operator]
    return (function(after) - lost) / (1 - lost)  # type: ignore[operator]


def flared(share: float, flare: tuple[float, float, float] = FLARE) -> Light:
    return Light(flare=flare, flare_in_code=share)


def lit(code: object, made: Light, encoding: Encoding = CODED) -> np.ndarray:
    return run(light.to_light(made, encoding), np.array(code, np.float64))


@pytest.mark.parametrize("share", SHARES)
@pytest.mark.parametrize(("name", "function"), [("sRGB", srgb), ("ITU-R BT.709", bt709)])
def test_light_with_flare_off_by_definition(share: float, name: str, function: object) -> None:
    codes = (0.05, 0.09, 0.12, 0.2, 0.461356, 0.75, 1.0)
    found = lit([[code] * 3 for code in codes], flared(share), Encoding(name, name))
    # below what is left of flare the code is negative, and goes on in the straight part of either function
    wanted = [[float(by_hand(code, flare, share, function)) for flare in FLARE] for code in codes]
    np.testing.assert_allclose(found, wanted, atol=1e-12)


@pytest.mark.parametrize("share", SHARES)
def test_code_with_flare_off_by_definition(share: float) -> None:
    codes = np.linspace(0.13, 1, 30)
    made = run(light.stages(flared(share), CODED), np.repeat(codes[:, None], 3, axis=1))
    wanted = [[float(srgb_code(by_hand(code, flare, share))) for flare in FLARE] for code in codes.tolist()]
    np.testing.assert_allclose(made, wanted, atol=1e-7)  # IEC 61966-2-1's rounded constants


@pytest.mark.parametrize("share", SHARES)
@pytest.mark.parametrize("name", RISING)
def test_flare_lands_at_black_white_stays_and_nothing_falls(name: str, share: float) -> None:
    encoding, black = Encoding(name, "sRGB"), black_code(name)
    ends = decode(name, [black, 1.0])
    for flare in (0.02, 0.3, c.FLARE.high):
        made = flared(share, (flare,) * 3)
        scale = max(float(ends[1]), 1.0)
        found = lit([[black + flare] * 3, [1.0] * 3], made, encoding)
        np.testing.assert_allclose(found, np.repeat(ends[:, None], 3, axis=1), atol=1e-12 * scale)
        assert np.diff(lit(np.linspace(black, 1, 2001)[:, None].repeat(3, 1), made, encoding), axis=0).min() >= 0


@pytest.mark.parametrize("share", SHARES)
def test_a_negative_flare_is_undone_in_code_whatever_the_share(share: float) -> None:
    for name in ("sRGB", "ITU-R BT.1886", "ITU-R BT.2100 PQ", "ARRI LogC3", "linear"):
        made, black = flared(share, (-0.04, -0.5, 0.0)), black_code(name)
        (step,) = light.stages(made, Encoding(name, name)) if name != "linear" else light.to_light(made, LINEAR)
        found = step(np.array([[black - 0.04, black - 0.5, black], [1.0, 1.0, 1.0]]))
        np.testing.assert_allclose(found, [[black] * 3, [1.0] * 3], atol=1e-12)


def test_the_code_of_black_of_a_log_function_counts_as_no_flare() -> None:
    # ACES S-2016-001: no light is 0.0729055 in ACEScct; ARRI LogC3 at EI 800: 0.092809 (its published constants)
    assert black_code("ACEScct") == pytest.approx(0.0729055, abs=1e-7)
    assert black_code("ARRI LogC3") == pytest.approx(0.092809, abs=1e-6)
    slope, offset = light.affine_in_code(flared(1.0, (0.0, 0.1, 0.1)), Encoding("ACEScct", "ACEScct"))
    assert (slope[0], offset[0]) == (1, 0)
    assert slope[1] * 0.1729055 + offset[1] == pytest.approx(0.0729055, abs=1e-7)


def test_what_is_linear_has_no_code_to_share_with() -> None:
    grey = np.array([[0.05, 0.18, 1.0]])
    for share in SHARES:
        found = lit(grey, flared(share, (0.05,) * 3), LINEAR)
        np.testing.assert_allclose(found, (grey - 0.05) / 0.95, atol=1e-15)


def test_flare_comes_off_before_light_is_balanced() -> None:
    """A neutral lift must not come out coloured: greys stay on the line of the light alone."""
    greys = np.linspace(0.1, 0.9, 9)[:, None].repeat(3, 1)
    lifted = 0.09 + 0.91 * greys
    warm = Light(0.2, 40, -5)
    off = Light(0.2, 40, -5, (0.09, 0.09, 0.09), 1.0)
    np.testing.assert_allclose(run(light.stages(off, CODED), lifted), run(light.stages(warm, CODED), greys), atol=1e-12)


def test_all_in_code_is_one_affine_step_and_the_share_alone_is_nothing() -> None:
    (step,) = light.stages(flared(1.0), CODED)
    np.testing.assert_allclose(step(np.array([FLARE, (1, 1, 1)])), [[0, 0, 0], [1, 1, 1]], atol=1e-15)
    assert light.stages(flared(0.3, (0.0, 0.0, 0.0)), CODED) == []
    assert order.is_neutral(Correction(light=Light(flare_in_code=0.1)), CODED)
    assert not order.is_neutral(Correction(light=flared(1.0)), CODED)


def codes(depth: Depth) -> np.ndarray:
    values = (data.astronaut()[::8, ::8] + np.random.default_rng(3).random((64, 64, 3))) / 256
    if depth.is_float:
        return (values * 1.2 - 0.05).astype(depth.dtype)
    return np.floor(values * (depth.maximum + 1)).astype(depth.dtype)


@pytest.mark.parametrize("encoding", [CODED, Encoding("ACEScct", "sRGB"), LINEAR], ids=["coded", "log", "linear"])
@pytest.mark.parametrize("depth", list(Depth))
def test_the_engine_against_the_reference(depth: Depth, encoding: Encoding) -> None:
    pixels, rng = codes(depth), np.random.default_rng(21)
    if encoding.source == "ACEScct" and depth.is_float:
        pixels = pixels / 2  # code 1 is light 223, of which float32 keeps no millionth of white
    for share in SHARES:
        flare = tuple(rng.uniform(-0.05, 0.15, 3).tolist())
        warm = Light(0.3, 20, 5, flare, share)
        for made in (flared(share, flare), warm):  # type: ignore[arg-type]
            correction = Correction(light=made, levels=Levels(0.02, 0.95), saturation=1.1)
            out = Depth.FLOAT if depth.is_float else depth
            ours = compile_engine(correction, encoding, depth, out).apply(pixels)
            exact = reference(pixels, correction, encoding, depth, out)
            if depth.is_float:
                assert (np.abs(ours - exact) / np.maximum(np.abs(exact), 1)).max() < 2e-6, correction
            else:
                assert np.abs(ours.astype(int) - rounded(exact, depth).astype(int)).max() <= 1, correction


@pytest.mark.parametrize("share", SHARES)
def test_in_narrow_range_flare_counts_from_its_black(share: float) -> None:
    encoding = Encoding(range="narrow")
    f = 60 / 876  # ITU-R BT.709-6, item 5: at 10 bits black is 64 and white 940
    made = compile_engine(Correction(light=flared(share, (f,) * 3)), encoding, Depth.U10)
    assert made.apply(np.array([[[124] * 3, [940] * 3]], np.uint16))[0, :, 0].tolist() == [64, 940]
    pixels = codes(Depth.U10)
    exact = rounded(reference(pixels, Correction(light=flared(share)), encoding, Depth.U10), Depth.U10)
    ours = compile_engine(Correction(light=flared(share)), encoding, Depth.U10).apply(pixels)
    assert np.abs(ours.astype(int) - exact.astype(int)).max() <= 1


def test_grey_takes_flare_that_is_one_and_refuses_flare_a_channel() -> None:
    grey = codes(Depth.U8)[..., :1]
    even = Correction(light=flared(0.5, (0.1,) * 3))
    exact = rounded(reference(grey.repeat(3, -1), even, CODED, Depth.U8), Depth.U8)[..., :1]
    assert np.array_equal(compile_engine(even, CODED, Depth.U8).apply(grey), exact)
    with pytest.raises(PoiseError, match="greyscale picture takes no warmth, magenta, flare"):
        compile_engine(Correction(light=flared(0.5)), CODED, Depth.U8).apply(grey)


BALANCED = Correction(
    light=flared(1.0),
    balance=Balance((1.1, 1, 0.9), (0.02, -0.03, 0.05), (0.9, 1, 1.2)),
    levels=Levels(0.03, 0.95, 1.1),
    saturation=1.2,
)


@pytest.mark.parametrize("depth", [Depth.U8, Depth.U16, Depth.FLOAT])
def test_all_in_code_is_one_cdl_to_opencolorio(depth: Depth) -> None:
    assert parts_beyond_cdl(BALANCED, CODED) == ()
    cdl = fold(BALANCED, CODED)
    theirs = ocio.CDLTransform()
    theirs.setSOP([*cdl.slope, *cdl.offset, *cdl.power])
    theirs.setSat(cdl.saturation)
    theirs.setStyle(ocio.CDL_NO_CLAMP if depth.is_float else ocio.CDL_ASC)
    config = ocio.Config.CreateRaw()
    config.setProcessorCacheFlags(ocio.PROCESSOR_CACHE_OFF)
    cpu = config.getProcessor(theirs).getOptimizedCPUProcessor(ocio.OPTIMIZATION_LOSSLESS)
    pixels = codes(depth)
    seen = np.ascontiguousarray(pixels / depth.maximum, np.float32)
    cpu.applyRGB(seen)
    exact = reference(pixels, BALANCED, CODED, depth)
    np.testing.assert_allclose(seen, exact, atol=2e-6)
    ours = compile_engine(BALANCED, CODED, depth).apply(pixels)
    off = np.abs(ours.astype(float) - (seen if depth.is_float else rounded(seen.astype(float), depth)))
    assert off.max() <= (2e-6 if depth.is_float else 1)


def test_what_is_not_all_in_code_is_no_cdl_but_of_linear_light() -> None:
    assert parts_beyond_cdl(Correction(light=flared(0.9)), CODED) == ("light",)
    assert parts_beyond_cdl(Correction(light=Light(exposure=1, flare=FLARE, flare_in_code=1)), CODED) == ("light",)
    half_negative = Correction(light=flared(0.0, (-0.1, 0.0, -0.02)))
    assert parts_beyond_cdl(half_negative, CODED) == ()
    linear = Correction(light=flared(0.2))
    assert parts_beyond_cdl(linear, LINEAR) == ()
    cdl, v = fold(linear, LINEAR), np.array([0.3, 0.5, 0.9])
    np.testing.assert_allclose(cdl.slope * v + cdl.offset, (v - FLARE) / (1 - np.array(FLARE)), atol=1e-12)


@pytest.mark.parametrize("share", [0.5, 1.0])
def test_integer_pictures_take_it_in_one_table(share: float) -> None:
    """Nothing mixes channels, so every code has one value, and a CLF is as short."""
    assert len(operations(Correction(light=flared(share)), CODED, Depth.U16)) == 1
