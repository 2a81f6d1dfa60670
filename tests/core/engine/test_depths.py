"""Every pair of depths with every layout, no correction: the values are those of a plain numpy formula."""

from itertools import product
from typing import Any

import numpy as np
import pytest
from msgspec.structs import replace

from poise.correction import CODED, NEUTRAL, Correction, Levels
from poise.engine import compile_engine
from poise.frames.frame import Depth


def ramp(depth: Depth, channels: int) -> Any:
    """Codes over the whole scale, another order in each channel, and beyond it in float."""
    if depth.is_float:
        levels = np.concatenate([np.linspace(0, 1, 4001), [-0.5, 1.5, 100.0, 1e-4]])
    else:
        levels = np.unique(np.linspace(0, depth.maximum, 4005).astype(int))
    return np.dstack([np.roll(levels, 97 * channel)[None] for channel in range(channels)]).astype(depth.dtype)


def plain(values: Any, depth: Depth, out: Depth) -> Any:
    """DESIGN 4: share of full scale v, then floor(v * (2**n - 1) + 0.5), clamped; float is not clamped."""
    share = values.astype(np.float64) / depth.maximum
    if out.is_float:
        return share.astype(out.dtype)
    return np.floor(np.clip(share, 0, 1) * out.maximum + 0.5).astype(out.dtype)


@pytest.mark.parametrize("channels", [1, 2, 3, 4])
@pytest.mark.parametrize(("depth", "out"), list(product(Depth, Depth)))
def test_depths_and_layouts(depth: Depth, out: Depth, channels: int) -> None:
    pixels = ramp(depth, channels)
    made = compile_engine(NEUTRAL, CODED, depth, out).apply(pixels)
    assert made.dtype == out.dtype
    np.testing.assert_array_equal(made, plain(pixels, depth, out))


@pytest.mark.parametrize("channels", [2, 4])
@pytest.mark.parametrize("out", [Depth.U8, Depth.U16])
def test_alpha_that_is_no_number_becomes_none(out: Depth, channels: int) -> None:
    pixels = np.full((1, 3, channels), 0.5, np.float32)
    pixels[0, :, -1] = (np.nan, np.inf, -np.inf)
    made = compile_engine(NEUTRAL, CODED, Depth.FLOAT, out).apply(pixels)
    assert made[0, :, -1].tolist() == [0, out.maximum, 0]


@pytest.mark.parametrize("channels", [1, 2, 3, 4])
@pytest.mark.parametrize(("depth", "out"), list(product(Depth, Depth)))
def test_alpha_beside_a_correction(depth: Depth, out: Depth, channels: int) -> None:
    """Colour is float32 on the way, and may round to the next code; alpha never."""
    pixels = ramp(depth, channels)
    made = compile_engine(Correction(levels=Levels(black=0.1)), CODED, depth, out).apply(pixels)
    base = 1 if channels < 3 else 3
    np.testing.assert_array_equal(made[..., base:], plain(pixels[..., base:], depth, out))
    colour = (pixels[..., :base].astype(np.float64) / depth.maximum - 0.1) / 0.9
    expected = np.clip(colour, 0, 1) * out.maximum if not out.is_float else colour
    tolerance = 2**-10 * np.abs(expected) + 2**-12 if out.is_float else 1
    assert (np.abs(made[..., :base] - expected) <= tolerance).all()


@pytest.mark.parametrize(("depth", "out"), list(product((Depth.U8, Depth.U10, Depth.U16), repeat=2)))
def test_narrow_range_stays_narrow_at_another_depth(depth: Depth, out: Depth) -> None:
    """ITU-R BT.709-6, item 5: 16 and 235 of 8 bits are 64 and 940 of 10, and 4096 and 60160 of 16."""
    ends = [[16 << depth.bits - 8, 235 << depth.bits - 8]]
    pixels = np.repeat(np.array(ends, depth.dtype)[..., None], 3, axis=-1)
    made = compile_engine(NEUTRAL, replace(CODED, range="narrow"), depth, out).apply(pixels)
    assert made[0, :, 1].tolist() == [16 << out.bits - 8, 235 << out.bits - 8]
