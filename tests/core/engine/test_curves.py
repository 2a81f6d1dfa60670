"""Curves through reference and engine, against scipy's PCHIP written out here; a straight one changes nothing."""

import numpy as np
import pytest
from scipy.interpolate import PchipInterpolator
from skimage import data

from poise.correction import CODED, Correction, Curves
from poise.correction.model import Point
from poise.engine import compile_engine, reference, rounded
from poise.frames.frame import Depth

STRAIGHT = ((0.0, 0.0), (1.0, 1.0))


def pictures(depth: Depth) -> np.ndarray:
    """A photograph, and below it every code in every channel."""
    photograph = rounded(data.coffee()[::8, ::2].reshape(-1, 300, 3) / 255, depth)
    if depth is Depth.U8:
        every = np.arange(256, dtype=np.uint8)
        return np.concatenate([photograph.reshape(-1, 3), np.stack([every, every[::-1], every], -1)])[None]
    every = np.arange(65536, dtype=np.uint16)
    return np.concatenate([photograph.reshape(-1, 3), np.stack([every, every[::-1], every], -1)])[None]


def random_curve(rng: np.random.Generator, count: int, low: float = 0.0, high: float = 1.0) -> tuple[Point, ...]:
    """Points whose inputs rise by a thousandth at least and whose outputs never fall, some of them level."""
    x = np.cumsum(rng.uniform(0.02, 1, count))
    y = np.cumsum(rng.choice([0.0, 0.3, 1.0], count) * rng.uniform(0.2, 1, count))
    x = low + (x - x[0]) / (x[-1] - x[0]) * (high - low)
    return tuple(zip(x.tolist(), (y / max(y[-1], 1)).tolist(), strict=True))


def scipys(points: tuple[Point, ...], values: np.ndarray) -> np.ndarray:
    """PCHIP, and beyond either end the tangent there."""
    if points == STRAIGHT:
        return values
    x, y = np.array(points).T
    curve = PchipInterpolator(x, y)
    result = curve(np.clip(values, x[0], x[-1]))
    below, above = values < x[0], values > x[-1]
    result[below] = y[0] + (values[below] - x[0]) * curve(x[0], 1)
    result[above] = y[-1] + (values[above] - x[-1]) * curve(x[-1], 1)
    return result


def corrections() -> list[Correction]:
    rng = np.random.default_rng(31)
    made = []
    for count in (2, 3, 5, 8, 20, 200, 256):
        for low, high in ((0, 1), (0.1, 0.9), (-0.5, 1.5)):
            channels = [random_curve(rng, count, low, high) for _ in range(3)]
            made.append(Correction(curves=Curves(*channels, master=random_curve(rng, 4))))
            made.append(Correction(curves=Curves(green=random_curve(rng, count, low, high))))
    return made


@pytest.mark.parametrize("depth", [Depth.U8, Depth.U16])
def test_curves_are_scipys_pchip_in_the_reference_and_within_a_code_in_the_engine(depth: Depth) -> None:
    pixels = pictures(depth)
    values = pixels / depth.maximum
    for correction in corrections():
        curves = correction.curves
        each = [scipys(points, values[..., i]) for i, points in enumerate((curves.red, curves.green, curves.blue))]
        expected = np.clip(scipys(curves.master, np.stack(each, axis=-1)), 0, 1)
        exact = reference(pixels, correction, CODED, depth)
        np.testing.assert_allclose(exact, expected, rtol=0, atol=1e-12)
        ours = compile_engine(correction, CODED, depth).apply(pixels)
        assert np.abs(ours.astype(int) - rounded(expected, depth).astype(int)).max() <= 1, curves


@pytest.mark.parametrize("depth", list(Depth))
def test_a_straight_curve_of_any_number_of_points_changes_no_value(depth: Depth) -> None:
    values = data.coffee()[::8, ::8] / 255 * (4 if depth.is_float else 1)
    pixels = rounded(values, depth)
    for count in (2, 3, 200, 256):
        line = tuple((i / (count - 1), i / (count - 1)) for i in range(count))
        engine = compile_engine(Correction(curves=Curves(line, line, line, line)), CODED, depth)
        assert engine.identity
        assert np.array_equal(engine.apply(pixels), pixels)


@pytest.mark.parametrize("depth", [Depth.U8, Depth.U10, Depth.U12, Depth.U16])
def test_a_channel_whose_curve_is_straight_keeps_its_very_codes(depth: Depth) -> None:
    pixels = rounded(data.coffee()[::8, ::8] / 255, depth)
    bent = Correction(curves=Curves(green=((0.0, 0.1), (0.5, 0.4), (1.0, 1.0))))
    out = compile_engine(bent, CODED, depth).apply(pixels)
    assert np.array_equal(out[..., ::2], pixels[..., ::2])
    assert not np.array_equal(out[..., 1], pixels[..., 1])
