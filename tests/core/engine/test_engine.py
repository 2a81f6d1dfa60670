"""The fast path against the float64 reference, OpenColorIO's own CDL, and exactness where it is owed."""

import numpy as np
import PyOpenColorIO as ocio
import pytest
from skimage import data
from thorough import many

from poise.correction import CODED, LINEAR, Balance, Correction, Curves, Encoding, Levels, Light, Tone
from poise.engine import COARSE, compile_engine, reference, rounded
from poise.engine.engine import interval
from poise.errors import PoiseError
from poise.frames.frame import Depth

PHOTOGRAPH = data.astronaut()[::8, ::8]


def codes(depth: Depth) -> np.ndarray:
    """The photograph at a depth, with noise in the bits that 8 bits don't have."""
    noise = np.random.default_rng(3).random(PHOTOGRAPH.shape)
    values = (PHOTOGRAPH + noise) / 256
    if depth.is_float:
        return ((values**2.2) * 2 - 0.02).astype(depth.dtype)
    return np.floor(values * (depth.maximum + 1)).astype(depth.dtype)


def random_correction(rng: np.random.Generator, plain: bool = False) -> Correction:
    u = rng.uniform
    balance = Balance(tuple(u(0.7, 1.4, 3)), tuple(u(-0.1, 0.1, 3)), tuple(u(0.6, 1.6, 3)))
    if plain:
        return Correction(balance=balance, saturation=u(0.5, 1.5))
    return Correction(
        light=Light(u(-1, 1), u(-60, 60), u(-15, 15), tuple(u(-0.05, 0.15, 3)), u()) if rng.random() < 0.5 else Light(),
        balance=balance,
        levels=Levels(u(0, 0.1), u(0.85, 1.1), u(0.8, 1.3)),
        tone=Tone(u(-0.6, 0.6), u(-0.6, 0.6)),
        curves=Curves(
            red=((0.0, 0.0), (0.5, u(0.4, 0.6)), (1.0, 1.0)), master=((0.0, 0.0), (0.3, u(0.25, 0.35)), (1.0, 1.0))
        ),
        saturation=u(0.5, 1.5),
    )


@pytest.mark.parametrize("depth", [Depth.U8, Depth.U16])
def test_whole_chain_within_one_code_of_the_reference(depth: Depth) -> None:
    rng = np.random.default_rng(11)
    pixels = codes(depth)
    for _ in range(many(40, 500)):
        correction = random_correction(rng)
        ours = compile_engine(correction, CODED, depth).apply(pixels)
        exact = rounded(reference(pixels, correction, CODED, depth), depth)
        assert np.abs(ours.astype(int) - exact.astype(int)).max() <= 1, correction


@pytest.mark.parametrize("depth", [Depth.U10, Depth.U12])
def test_whole_chain_at_10_and_12_bits(depth: Depth) -> None:
    rng = np.random.default_rng(12)
    pixels = codes(depth)
    for _ in range(25):
        correction = random_correction(rng)
        ours = compile_engine(correction, CODED, depth).apply(pixels)
        exact = rounded(reference(pixels, correction, CODED, depth), depth)
        assert np.abs(ours.astype(int) - exact.astype(int)).max() <= 1, correction


@pytest.mark.parametrize("most", [1.0, 3.9, 60.0, 1000.0])
def test_halves_come_within_one_step_of_the_reference_whatever_their_range(most: float) -> None:
    """Tables are fitted to the range of a picture up to 64; a step is the last place of a half, or 4e-6 near black."""
    rng = np.random.default_rng(17)
    pixels = (rng.uniform(-0.02, 1, (16, 64, 3)) ** 3 * most).astype(np.float16)
    pixels[0, 0] = most
    assert (interval(pixels) is None) == (most > 64)
    for _ in range(many(6, 125)):
        correction = random_correction(rng)
        ours = compile_engine(correction, LINEAR, Depth.HALF).apply(pixels)
        exact = reference(pixels, correction, LINEAR, Depth.HALF)
        step = np.maximum(np.abs(exact) * 2.0**-10, 4e-6)
        assert (np.abs(ours - exact) <= step)[np.abs(exact) < 60000].all(), correction


@pytest.mark.parametrize("encoding", [CODED, LINEAR], ids=["coded", "linear"])
@pytest.mark.parametrize("depth", [Depth.HALF, Depth.FLOAT])
def test_float_within_2e_6(depth: Depth, encoding: Encoding) -> None:
    rng = np.random.default_rng(13)
    pixels = codes(depth)
    for _ in range(many(16, 40)):
        correction = random_correction(rng)
        ours = compile_engine(correction, encoding, depth, Depth.FLOAT).apply(pixels)
        exact = reference(pixels, correction, encoding, depth, Depth.FLOAT)
        assert (np.abs(ours - exact) / np.maximum(np.abs(exact), 1)).max() < 2e-6, correction


@pytest.mark.parametrize("depth", [Depth.U8, Depth.U16])
def test_within_one_code_of_opencolorio_cdl(depth: Depth) -> None:
    rng = np.random.default_rng(14)
    pixels = codes(depth)
    size = pixels.itemsize
    for _ in range(many(40, 500)):
        correction = random_correction(rng, plain=True)
        cdl = ocio.CDLTransform()
        balance = correction.balance
        cdl.setSOP([*balance.slope, *balance.offset, *balance.power])
        cdl.setSat(correction.saturation)
        cdl.setStyle(ocio.CDL_ASC)
        config = ocio.Config.CreateRaw()
        config.setProcessorCacheFlags(ocio.PROCESSOR_CACHE_OFF)
        bits = {Depth.U8: ocio.BIT_DEPTH_UINT8, Depth.U16: ocio.BIT_DEPTH_UINT16}[depth]
        cpu = config.getProcessor(cdl).getOptimizedCPUProcessor(bits, bits, ocio.OPTIMIZATION_LOSSLESS)
        theirs = np.empty_like(pixels)
        height, width, _ = pixels.shape
        layout = (width, height, 3, bits, size, size * 3, size * 3 * width)
        cpu.apply(ocio.PackedImageDesc(pixels, *layout), ocio.PackedImageDesc(theirs, *layout))
        ours = compile_engine(correction, CODED, depth).apply(pixels)
        assert np.abs(ours.astype(int) - theirs.astype(int)).max() <= 1, correction


@pytest.mark.parametrize("depth", list(Depth))
def test_neutral_is_identity(depth: Depth) -> None:
    pixels = codes(depth)
    for encoding in (CODED, LINEAR):
        engine = compile_engine(Correction(), encoding, depth)
        assert engine.identity
        assert np.array_equal(engine.apply(pixels), pixels)


def test_depth_changes_round_as_published() -> None:
    every = np.arange(256, dtype=np.uint8).repeat(3).reshape(1, 256, 3)
    up = compile_engine(Correction(), CODED, Depth.U8, Depth.U16).apply(every)
    assert np.array_equal(up, every.astype(np.uint16) * 257)
    assert np.array_equal(compile_engine(Correction(), CODED, Depth.U16, Depth.U8).apply(up), every)
    half = np.full((1, 1, 3), 0.5, np.float32)  # floor(v (2^n - 1) + .5), from the definition
    for depth, code in ((Depth.U8, 128), (Depth.U10, 512), (Depth.U16, 32768)):
        assert compile_engine(Correction(), CODED, Depth.FLOAT, depth).apply(half).ravel().tolist() == [code] * 3


def test_two_tables_of_one_size_are_not_confused() -> None:
    # OpenColorIO's processor cache returned the first table for the second
    pixels = codes(Depth.U16)
    one, two = Correction(tone=Tone(toe=0.5)), Correction(tone=Tone(toe=-0.5))
    first = compile_engine(one, CODED, Depth.U16).apply(pixels)
    second = compile_engine(two, CODED, Depth.U16).apply(pixels)
    assert not np.array_equal(first, second)
    exact = rounded(reference(pixels, two, CODED, Depth.U16), Depth.U16)
    assert np.abs(second.astype(int) - exact.astype(int)).max() <= 1


def test_threads_give_the_same_bytes() -> None:
    pixels = codes(Depth.U16)
    engine = compile_engine(random_correction(np.random.default_rng(5)), CODED, Depth.U16)
    assert np.array_equal(engine.apply(pixels), engine.apply(pixels, threads=3))
    assert np.array_equal(engine.apply(pixels[:1]), engine.apply(pixels[:1], threads=8))


def test_alpha_goes_through_untouched() -> None:
    rgba = np.concatenate([codes(Depth.U16), codes(Depth.U16)[..., :1]], axis=-1)
    out = compile_engine(Correction(levels=Levels(0.1, 0.8)), CODED, Depth.U16).apply(rgba)
    assert np.array_equal(out[..., 3], rgba[..., 3])
    assert not np.array_equal(out[..., :3], rgba[..., :3])


def test_grey_takes_levels_and_refuses_balance() -> None:
    grey = codes(Depth.U8)[..., :1]
    levels = Correction(levels=Levels(0.1, 0.8))
    exact = rounded(reference(grey.repeat(3, -1), levels, CODED, Depth.U8), Depth.U8)[..., :1]
    assert np.array_equal(compile_engine(levels, CODED, Depth.U8).apply(grey), exact)
    with pytest.raises(PoiseError, match="greyscale"):
        compile_engine(Correction(light=Light(warmth=5)), CODED, Depth.U8).apply(grey)


def test_nan_and_inf_pixels_go_through_as_they_are() -> None:
    pixels = codes(Depth.FLOAT)
    pixels[3, 4] = (np.nan, 0.5, 0.25)
    pixels[5, 6] = (0.1, np.inf, -np.inf)
    out = compile_engine(Correction(light=Light(0.5, 20), saturation=1.2), LINEAR, Depth.FLOAT).apply(pixels)
    for at in ((3, 4), (5, 6)):
        np.testing.assert_array_equal(out[at], pixels[at])
    assert np.isfinite(np.delete(out.reshape(-1, 3), [3 * 64 + 4, 5 * 64 + 6], axis=0)).all()


@pytest.mark.parametrize("delivery", ["sRGB", "ITU-R BT.1886", "ITU-R BT.709", "ITU-R BT.2100 PQ"])
def test_a_log_frame_becomes_a_display_frame(delivery: str) -> None:
    pixels = codes(Depth.U16)
    encoding = Encoding(source="ACEScct", delivery=delivery, primaries="ACEScg", delivery_primaries="ITU-R BT.709")
    correction = Correction(light=Light(exposure=-0.5))
    ours = compile_engine(correction, encoding, Depth.U16).apply(pixels)
    exact = rounded(reference(pixels, correction, encoding, Depth.U16), Depth.U16)
    # BT.709's rounded constants leave a jump of 16 codes at 0.081; within it the table may stand on either side
    seam = (np.abs(exact / 65535 - 0.08115) < 3e-4) & (delivery == "ITU-R BT.709")
    assert np.abs(ours.astype(int) - exact.astype(int))[~seam].max() <= 1


def test_narrow_range_keeps_black_at_64_and_white_at_940() -> None:
    encoding = Encoding(range="narrow")
    ends = np.array([[[64] * 3, [940] * 3]], np.uint16)  # ITU-R BT.709-6, item 5
    stretched = compile_engine(Correction(levels=Levels(0, 0.5)), encoding, Depth.U10).apply(ends)
    assert stretched[0, :, 0].tolist() == [64, 940]
    work = compile_engine(Correction(), encoding, Depth.U10, output="work").apply(ends)
    np.testing.assert_allclose(work[0, :, 0], [0, 1], atol=1e-6)
    with pytest.raises(PoiseError, match="narrow range"):
        compile_engine(Correction(saturation=1.1), encoding, Depth.FLOAT)


def test_work_code_of_linear_light_is_srgb_code() -> None:
    grey = np.full((1, 1, 3), 0.18, np.float32)
    work = compile_engine(Correction(), LINEAR, Depth.FLOAT, output="work").apply(grey)
    np.testing.assert_allclose(work, 0.461356130, atol=1e-6)  # IEC 61966-2-1


@pytest.mark.parametrize("encoding", [CODED, Encoding(source="ACEScct")], ids=["coded", "log"])
def test_coarse_tables_stay_within_a_thousandth(encoding: Encoding) -> None:
    pixels = codes(Depth.U16)
    correction = Correction(light=Light(0.3, 20, 5), levels=Levels(0.03, 0.9), saturation=1.1)
    fine = compile_engine(correction, encoding, Depth.U16).apply(pixels).astype(int)
    coarse = compile_engine(correction, encoding, Depth.U16, entries=COARSE).apply(pixels).astype(int)
    assert np.abs(fine - coarse).max() <= 66


@pytest.mark.parametrize("encoding", [CODED, LINEAR, Encoding(source="ACEScct")], ids=["coded", "linear", "log"])
@pytest.mark.parametrize("depth", [Depth.HALF, Depth.FLOAT])
def test_coarse_float_tables_stay_within_2e_3_of_the_reference(depth: Depth, encoding: Encoding) -> None:
    rng = np.random.default_rng(15)
    # light from the dark to the brightest, so that the first octaves above black are seen too
    pixels = (2.0 ** rng.uniform(-12, 0, (64, 64, 1)) * rng.uniform(0.5, 1, (64, 64, 3))).astype(depth.dtype)
    for _ in range(20):
        correction = random_correction(rng)
        ours = compile_engine(correction, encoding, depth, Depth.FLOAT, entries=COARSE).apply(pixels)
        exact = reference(pixels, correction, encoding, depth, Depth.FLOAT)
        assert (np.abs(ours - exact) / np.maximum(np.abs(exact), 1)).max() < 2e-3, correction
