"""Tables over half floats reach into the dark without losing highlights: against powers, and the float64 reference."""

import msgspec
import numpy as np
import pytest
from thorough import many

from poise.chain.stage import PerChannel
from poise.correction import CODED, LINEAR, Balance, Correction, Encoding, Levels, Light, Tone
from poise.engine import FINE, compile_engine, reference
from poise.engine import fold as fold_module
from poise.engine.engine import operations
from poise.engine.fold import fold
from poise.engine.processor import build
from poise.frames.frame import Depth

WIDE = Encoding(source="ACEScct", delivery="sRGB", primaries="ACEScg", delivery_primaries="ITU-R BT.709")


def lamps(encoding: Encoding, depth: Depth) -> np.ndarray:
    """The quay at night: every brightness that the encoding holds, a few pixels of them below black or one-coloured."""
    rng = np.random.default_rng(1)
    if encoding.source in ("linear", "sRGB"):
        stops = {"linear": 12, "sRGB": 4}[encoding.source]
        pixels = 2.0 ** rng.uniform(-12, stops, (64, 64, 1)) * rng.uniform(0.02, 1, (64, 64, 3))
        pixels[:8] *= -0.02
    else:
        pixels = rng.uniform(0, 1, (64, 64, 3))
        pixels[:4] = rng.uniform(0.9, 1.05, (4, 64, 3))
        pixels[4] = rng.uniform(0.9, 1, (64, 3)) * (1, 0.3, 0.3)
    return pixels.astype(depth.dtype)


def random_correction(rng: np.random.Generator) -> Correction:
    u = rng.uniform
    return Correction(
        light=Light(u(0, 2), u(-60, 60), u(-15, 15)),
        balance=Balance(tuple(u(0.7, 1.4, 3)), tuple(u(-0.1, 0.1, 3)), tuple(u(0.6, 1.6, 3))),
        levels=Levels(u(0, 0.1), u(0.85, 1.1), u(0.8, 1.3)),
        tone=Tone(u(-0.6, 0.6), u(-0.6, 0.6)),
        saturation=u(0.5, 1.5),
    )


# A log decoded from float code is only as fine as half floats are near 1: 1e-6 of light to 222, that a change of
# primaries may take from a channel near black. Halves are decoded exactly.
@pytest.mark.parametrize(
    ("encoding", "depth", "limit"),
    [
        (CODED, Depth.HALF, 1e-4),
        (CODED, Depth.FLOAT, 1e-4),
        (LINEAR, Depth.HALF, 1e-4),
        (LINEAR, Depth.FLOAT, 1e-4),
        (Encoding(source="ACEScct"), Depth.HALF, 1e-4),
        (Encoding(source="ACEScct"), Depth.FLOAT, 1e-4),
        (Encoding(source="ARRI LogC4"), Depth.HALF, 1e-4),
        (Encoding(source="ARRI LogC4"), Depth.FLOAT, 1e-4),
        (WIDE, Depth.HALF, 1e-4),
        (WIDE, Depth.FLOAT, 5e-3),
    ],
)
def test_highlights_and_saturated_lamps_keep_to_the_reference(encoding: Encoding, depth: Depth, limit: float) -> None:
    rng = np.random.default_rng(16)
    pixels = lamps(encoding, depth)
    for _ in range(12):
        correction = random_correction(rng)
        ours = compile_engine(correction, encoding, depth, Depth.FLOAT).apply(pixels)
        exact = reference(pixels, correction, encoding, depth, Depth.FLOAT)
        brightest = np.maximum(np.abs(exact).max(axis=-1, keepdims=True), 1)
        assert (np.abs(ours - exact) / brightest).max() < limit, correction


@pytest.mark.parametrize("exponent", [0.6, 0.8, 1.6])
def test_a_power_is_right_from_the_dark_to_the_last_half(exponent: float) -> None:
    stage = PerChannel(lambda v: np.sign(v) * np.abs(v) ** exponent, alike=True)
    dark, bright = 2.0 ** np.linspace(-32, 0, 3001), 2.0 ** np.linspace(0, np.log2(65504), 3000)
    values = np.concatenate([-bright, -dark, [0.0], dark, bright]).astype(np.float32)
    picture = np.repeat(values[None, :, None], 3, axis=2)
    processor = build(fold([stage], Depth.FLOAT, FINE, 2e-7), Depth.FLOAT, Depth.FLOAT)
    out = picture.copy()
    processor.applyRGB(out)
    exact = np.sign(values) * np.abs(values.astype(np.float64)) ** exponent
    error = np.abs(out[0, :, 0] - exact) / np.maximum(np.abs(exact), 1)
    assert error[np.abs(values) <= 1].max() < 1e-6
    assert error.max() < 1e-5


def test_a_change_of_gain_makes_no_table_of_what_stays_the_same() -> None:
    """Exposure alone moves through a stop in 48 frames: a few intervals of values, and every other table is kept."""
    fold_module._exact.cache_clear()
    fold_module._bake.cache_clear()
    fold_module._clamped_table.cache_clear()
    rest = Correction(Light(flare=(0.02, 0.02, 0.03)), Balance((1.02, 1, 0.98), power=(1.1, 1, 1)), saturation=1.1)
    for number in range(48):
        light = Light(number / 48, 5.0, flare=rest.light.flare)
        compile_engine(msgspec.structs.replace(rest, light=light), Encoding(), Depth.U16)
    assert fold_module._exact.cache_info().misses == 1
    made = fold_module._bake.cache_info().misses + fold_module._clamped_table.cache_info().misses
    assert made <= 24  # encoding in five or so intervals at either end, power in one; each is asked for in two ways


@pytest.mark.parametrize("depth", [Depth.U8, Depth.U10, Depth.U12, Depth.U14, Depth.U16])
def test_a_clamp_after_a_function_needs_no_operation_and_no_code_is_off(depth: Depth) -> None:
    """As auto writes it: light, then levels that clamp, then saturation; against the reference, in float64."""
    rng = np.random.default_rng(depth.maximum)
    u = rng.uniform
    pixels = rng.integers(0, depth.maximum, (48, 64, 3), depth.dtype, endpoint=True)
    for _ in range(many(10, 500)):
        light = Light(u(-1, 1), u(-60, 60), u(-15, 15), flare=tuple(u(0, 0.1, 3)), flare_in_code=u())
        slope = tuple(u(0.8, 1.3, 3)) if u() < 0.5 else (1.0, 1.0, 1.0)
        correction = Correction(light, Balance(slope), Levels(u(-0.05, 0.1), u(0.6, 1.1)), saturation=u(0.8, 1.3))
        kinds = [type(one).__name__ for one in operations(correction, CODED, depth)]
        assert kinds == ["Table", "Linear", "Table", "Linear"]
        ours = compile_engine(correction, CODED, depth).apply(pixels)
        exact = reference(pixels, correction, CODED, depth, depth)
        assert np.abs(ours - exact * depth.maximum).max() <= 0.75, correction  # a half is what rounding leaves
