"""Keyframes: between two of them every number is interpolated by the formula written out here, with numpy alone."""

import msgspec
import numpy as np
import pytest
from skimage import data

from poise.correction import (
    CODED,
    LINEAR,
    Balance,
    Correction,
    Curves,
    Inside,
    Interval,
    Keyframe,
    Levels,
    Light,
    Matte,
    Tone,
    correction_at,
)
from poise.correction.keyframes import not_interpolated
from poise.correction.model import HueInterval
from poise.engine import compile_engine, reference, rounded
from poise.frames import Depth

PICTURE = data.astronaut()[::32, ::32].astype(np.float64) / 255
LOGARITHMIC = ("slope", "power")


def random_correction(rng: np.random.Generator) -> Correction:
    def u(low: float, high: float) -> float:
        return float(rng.uniform(low, high))

    def three(low: float, high: float) -> tuple[float, float, float]:
        return u(low, high), u(low, high), u(low, high)

    balance = Balance(three(0.7, 1.4), three(-0.1, 0.1), three(0.6, 1.6))
    buoy = Matte(
        "buoy",
        chroma=Interval(u(0.02, 0.2), u(0.3, 1), u(0.05, 0.2)),
        inside=Inside(u(-0.5, 0.5), u(-60, 60), u(0.6, 1.4)),
    )
    return Correction(
        Light(u(-1, 1), u(-60, 60), u(-15, 15), three(0, 0.1), u(0, 1)),
        balance,
        Levels(u(0, 0.1), u(0.85, 1.1), u(0.8, 1.3)),
        Tone(u(-0.6, 0.6), u(-0.6, 0.6)),
        Curves(master=((0.0, 0.0), (0.3, u(0.25, 0.35)), (1.0, 1.0))),
        u(0.5, 1.5),
        (buoy,) if rng.random() < 0.3 else (),
    )


def by_hand(one: object, other: object, share: float, name: str = "") -> object:
    """Interpolates JSON: numbers linearly, slope and power geometrically; texts and matching curve inputs are equal."""
    if isinstance(one, dict):
        return {key: by_hand(value, other[key], share, key) for key, value in one.items()}
    if isinstance(one, list | tuple):
        return [by_hand(a, b, share, name) for a, b in zip(one, other, strict=True)]
    if isinstance(one, bool | str):
        return one
    value = one ** (1 - share) * other**share if name in LOGARITHMIC else (1 - share) * one + share * other
    return round(float(value), 12)


def test_output_at_every_depth_is_the_interpolation_of_the_reference_within_a_code() -> None:
    check(len(Depth))


@pytest.mark.thorough
def test_500_random_pairs() -> None:
    check(500)


def check(pairs: int) -> None:
    rng = np.random.default_rng(41)
    for number in range(pairs):
        one, other = random_correction(rng), random_correction(rng)
        if len(one.mattes) != len(other.mattes):
            other = msgspec.structs.replace(other, mattes=one.mattes)
        first, last = sorted(rng.choice(1000, 2, replace=False).tolist())
        frame = int(rng.integers(first, last + 1))
        keyframes = Keyframe(first, one), Keyframe(last, other)
        share = (frame - first) / (last - first)
        wanted = msgspec.convert(by_hand(msgspec.to_builtins(one), msgspec.to_builtins(other), share), Correction)
        depth = list(Depth)[number % len(Depth)]
        pixels = PICTURE.astype(depth.dtype) if depth.is_float else (PICTURE * depth.maximum).astype(depth.dtype)
        encoding = LINEAR if depth.is_float else CODED
        ours = compile_engine(correction_at(Correction(), keyframes, frame), encoding, depth).apply(pixels)
        exact = rounded(reference(pixels, wanted, encoding, depth), depth)
        off = np.abs(ours.astype(np.float64) - exact.astype(np.float64))
        size = np.maximum(np.abs(exact), 0.5) if depth.is_float else 1
        code = np.spacing(np.asarray(size, np.float16)) if depth is Depth.HALF else 1e-5 * size
        assert (off <= (code if depth.is_float else 1)).all(), (number, depth, off.max())


def test_before_the_first_and_after_the_last_it_holds() -> None:
    one, other = Correction(saturation=0.5), Correction(saturation=1.5)
    keyframes = Keyframe(101, one), Keyframe(111, other)
    assert [correction_at(Correction(), keyframes, frame) for frame in (1, 101, 111, 400)] == [one, one, other, other]
    assert correction_at(one, (), 105) is one
    assert correction_at(one, keyframes, None) is one  # a still


def test_curves_and_mattes_that_differ_are_those_of_the_nearer_keyframe_and_it_is_said() -> None:
    bent = Curves(master=((0.0, 0.0), (0.4, 0.5), (1.0, 1.0)), red=((0.0, 0.1), (1.0, 1.0)))
    one = Correction(curves=bent, mattes=(Matte("hull"),))
    other = Correction(mattes=(Matte("buoy"),), saturation=2)
    keyframes = Keyframe(0, one), Keyframe(10, other)
    early, late = (correction_at(Correction(), keyframes, frame) for frame in (4, 6))
    assert early.curves.master == bent.master
    assert late.curves.master == Curves().master
    assert early.curves.red == ((0.0, 0.06), (1.0, 1.0))
    assert [early.mattes[0].name, late.mattes[0].name] == ["hull", "buoy"]
    assert early.saturation == 1.4
    words = "\n".join(not_interpolated(keyframes))
    assert "the master curves of frames 0 and 10 have different inputs" in words
    assert "the mattes of frames 0 and 10 differ" in words
    assert "red" not in words


def test_a_range_of_hues_goes_the_shorter_way_round() -> None:
    one, other = (Matte("buoy", hue=HueInterval(*ends)) for ends in ((340.0, 10.0, 4.0), (10.0, 60.0, 8.0)))
    keyframes = Keyframe(0, Correction(mattes=(one,))), Keyframe(10, Correction(mattes=(other,)))
    assert correction_at(Correction(), keyframes, 5).mattes[0].hue == HueInterval(355, 35, 6)
