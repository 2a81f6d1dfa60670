"""Neutral pick: casts of known lights, put on a photograph by colour-science, are taken off a grey patch."""

import colour
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from skimage import data

from poise.colour.adaptation import light_matrix
from poise.colour.luma import luma
from poise.colour.transfer import decode, encode
from poise.correction import (
    CODED,
    LINEAR,
    NEUTRAL,
    Balance,
    Correction,
    Curves,
    Encoding,
    Levels,
    Light,
    Matte,
    Tone,
    Zone,
    checked,
)
from poise.engine.reference import reference
from poise.errors import PoiseError
from poise.frames.frame import Depth
from poise.solve import pick
from poise.solve.zone import zone_of

WHITES = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]
TO_XYZ = colour.RGB_COLOURSPACES["sRGB"].matrix_RGB_to_XYZ
WALL = (slice(0, 16), slice(64, 80))
"""A grey wall in skimage's astronaut, by eye and by code: R, G and B within 2.3 of 255 of each other."""
MIRED_STEP = 5.0
"""One nudge of warmth."""


def under(light: str, gain: float = 0.7) -> np.ndarray:
    """The astronaut as a camera balanced for D65 sees it under a CIE illuminant (Bradford), 16 bit sRGB."""
    white, other = (colour.xy_to_XYZ(WHITES[name]) for name in ("D65", light))
    cast = colour.adaptation.matrix_chromatic_adaptation_VonKries(white, other, transform="Bradford")
    lit = decode("sRGB", data.astronaut()[:128] / 255) @ (np.linalg.inv(TO_XYZ) @ cast @ TO_XYZ).T
    return np.rint(np.clip(encode("sRGB", gain * lit), 0, 1) * 65535).astype(np.uint16)


def mean(patch: np.ndarray, correction: Correction, encoding: Encoding = CODED, depth: Depth = Depth.U16) -> np.ndarray:
    return reference(patch, correction, encoding, depth).reshape(-1, 3).mean(axis=0)


@pytest.mark.parametrize("light", ["D50", "D75", "FL2", "FL11"])
def test_the_light_of_a_known_illuminant_is_taken_off(light: str) -> None:
    picture = under(light)
    picked = pick(picture[WALL], NEUTRAL, CODED, Depth.U16)
    assert np.ptp(mean(picture[WALL], NEUTRAL)) > 0.02
    assert np.ptp(mean(picture[WALL], picked.correction)) < 0.002
    assert picked.correction == Correction(light=Light(warmth=picked.warmth, magenta=picked.magenta))
    assert f"warmth {picked.warmth:+.1f} mired, magenta {picked.magenta:+.1f} CC" in picked.note


def test_the_size_is_that_of_the_light_that_was_put_on() -> None:
    wall = np.full((4, 4, 3), 0.18) @ light_matrix(35, -8).T
    picked = pick(wall.astype(np.float32), NEUTRAL, LINEAR, Depth.FLOAT)
    undone = light_matrix(picked.warmth, picked.magenta) @ light_matrix(35, -8) @ np.ones(3)
    np.testing.assert_allclose(undone / undone[1], 1, atol=1e-3)
    # the light that is taken off is the other way, and as large in mired as that put on, to a nudge
    assert (picked.warmth, picked.magenta) == pytest.approx((-35, 8), abs=MIRED_STEP)


@pytest.mark.parametrize("share", [0.0, 0.4, 1.0])
def test_the_light_is_that_of_the_patch_with_flare_off(share: float) -> None:
    flare = (0.06, 0.09, 0.12)
    lifted = np.rint((0.06 + np.arange(3) * 0.03 + (0.94 - np.arange(3) * 0.03) * under("D50") / 65535) * 65535)
    patch = lifted.astype(np.uint16)[WALL]
    before = Correction(light=Light(0.5, flare=flare, flare_in_code=share))
    picked = pick(patch, before, CODED, Depth.U16).correction
    assert np.ptp(mean(patch, picked)) < 0.002
    assert (picked.light.exposure, picked.light.flare, picked.light.flare_in_code) == (0.5, flare, share)
    if share == 1:
        plain = pick(under("D50")[WALL], NEUTRAL, CODED, Depth.U16)
        assert picked.light.warmth == pytest.approx(plain.warmth, abs=0.1)


def test_where_warmth_ends_slope_does_the_rest_and_says_so() -> None:
    patch = under("A", 0.5)[WALL]
    picked = pick(patch, NEUTRAL, CODED, Depth.U16)
    assert picked.warmth == -140
    assert picked.correction.balance.slope != (1, 1, 1)
    assert picked.correction.balance.offset == (0, 0, 0)
    assert "slope for the rest" in picked.note
    assert np.ptp(mean(patch, picked.correction)) < 0.002
    checked(picked.correction)


@pytest.mark.parametrize("how", ["light", "zone"])
@pytest.mark.parametrize("light", ["D50", "FL2", "A"])
def test_a_second_pick_changes_nothing(light: str, how: str) -> None:
    patch = under(light, 0.5)[WALL]
    start = pick(patch, NEUTRAL, CODED, Depth.U16).correction if light == "A" else NEUTRAL
    first = pick(patch, start, CODED, Depth.U16, how).correction
    second = pick(patch, first, CODED, Depth.U16, how)
    assert second.correction == first
    assert (second.warmth, second.magenta) == (0, 0)
    assert "already" in second.note


def test_a_light_pick_goes_on_from_what_was_decided() -> None:
    patch = under("D50")[WALL]
    tinted = Correction(Light(0.5, 20, -10), Balance(slope=(1.05, 1, 1)), saturation=1.2)
    picked, plain = (pick(patch, start, CODED, Depth.U16) for start in (tinted, NEUTRAL))
    assert picked.correction.light == Light(0.5, plain.warmth, plain.magenta)
    assert (picked.warmth, picked.magenta) == pytest.approx((plain.warmth - 20, plain.magenta + 10))
    assert picked.correction.balance == tinted.balance
    # the light stage is neutral: what colour is left is the balance's own
    assert np.ptp(mean(patch, Correction(light=picked.correction.light))) < 0.002


@pytest.mark.parametrize(
    ("encoding", "depth"),
    [
        (Encoding(source="ACEScct"), Depth.U10),
        (Encoding(range="narrow"), Depth.U10),
        (
            Encoding(source="S-Log3", delivery="ITU-R BT.709", primaries="S-Gamut3", delivery_primaries="ITU-R BT.709"),
            Depth.U12,
        ),
        (LINEAR, Depth.FLOAT),
    ],
)
@pytest.mark.parametrize("how", ["light", "zone"])
def test_other_encodings_are_picked_in_their_own_light(encoding: Encoding, depth: Depth, how: str) -> None:
    texture = np.random.default_rng(3).normal(1, 0.02, (12, 12, 1))
    light = 0.2 * texture * (light_matrix(30, 6, primaries=encoding.primaries) @ np.ones(3))
    code = encode(encoding.source, light)
    if encoding.range == "narrow":
        code = (219 * code + 16) * 4 / 1023  # ITU-R BT.709-6, item 5
    patch = code.astype(np.float32) if depth.is_float else np.rint(code * depth.maximum).astype(np.uint16)
    assert np.ptp(mean(patch, NEUTRAL, encoding, depth)) > 0.02
    picked = pick(patch, NEUTRAL, encoding, depth, how)
    assert np.ptp(mean(patch, picked.correction, encoding, depth)) < 0.002


# the gain brings the wall into the zone
@pytest.mark.parametrize(("gain", "zone"), [(0.15, Zone.SHADOWS), (0.5, Zone.MIDTONES), (1.05, Zone.HIGHLIGHTS)])
def test_a_zone_pick_levels_at_the_patch_s_luma_and_moves_its_zone_alone(gain: float, zone: Zone) -> None:
    patch = under("D50", gain)[WALL]
    picked = pick(patch, NEUTRAL, CODED, Depth.U16, "zone")
    before, after = mean(patch, NEUTRAL), mean(patch, picked.correction)
    level = float(luma(*before))
    assert zone_of(level) is zone
    np.testing.assert_allclose(after, level, atol=5e-4)
    assert zone.value in picked.note
    balance = picked.correction.balance
    assert picked.correction == Correction(balance=balance)
    slope, offset = np.array(balance.slope), np.array(balance.offset)
    if zone is Zone.SHADOWS:
        np.testing.assert_allclose(slope + offset, 1, atol=2e-5)  # white held
        assert balance.power == (1, 1, 1)
    if zone is Zone.MIDTONES:
        assert balance == Balance(power=balance.power)  # both ends held
    if zone is Zone.HIGHLIGHTS:
        assert balance == Balance(slope=balance.slope)  # black held


@settings(max_examples=40, deadline=None)
@given(
    level=st.floats(0.15, 0.8),
    tint=st.tuples(*[st.floats(-0.04, 0.04)] * 3),
    saturation=st.floats(0, 2),
    toe=st.floats(-0.5, 0.5),
    black=st.floats(0, 0.05),
    slope=st.floats(0.95, 1.05),
    middle=st.floats(0.4, 0.6),
)
def test_a_zone_pick_reaches_through_the_whole_chain(
    level: float,
    tint: tuple[float, float, float],
    saturation: float,
    toe: float,
    black: float,
    slope: float,
    middle: float,
) -> None:
    texture = np.random.default_rng(1).normal(0, 0.01, (8, 8, 1))
    patch = np.rint((level + np.array(tint) + texture) * 65535).astype(np.uint16)
    start = Correction(
        balance=Balance(slope=(1, slope, 1), power=(1, 1, slope)),
        levels=Levels(black=black),
        tone=Tone(toe=toe),
        curves=Curves(master=((0, 0), (0.5, middle), (1, 1))),
        saturation=saturation,
        mattes=(Matte(name="buoy"),),
    )
    plain = Correction(start.light, start.balance, start.levels, start.tone, start.curves, saturation)
    picked = pick(patch, start, CODED, Depth.U16, "zone").correction
    assert picked.mattes == start.mattes
    after = mean(patch, Correction(start.light, picked.balance, start.levels, start.tone, start.curves, saturation))
    np.testing.assert_allclose(after, float(luma(*mean(patch, plain))), atol=0.002)
    checked(picked)


def test_a_few_dead_pixels_don_t_sway_a_pick() -> None:
    patch = (np.full((10, 10, 3), 0.2) @ light_matrix(20).T).astype(np.float32)
    clean = pick(patch, NEUTRAL, LINEAR, Depth.FLOAT)
    patch[3, 4] = np.nan
    assert pick(patch, NEUTRAL, LINEAR, Depth.FLOAT).correction == clean.correction


@pytest.mark.parametrize("how", ["light", "zone"])
@pytest.mark.parametrize(
    ("patch", "reason"),
    [
        (np.full((4, 4, 1), 90, np.uint8), "grey picture"),
        (np.full((4, 4, 3), 255, np.uint8), "clipped"),
        (np.full((4, 4, 3), (255, 240, 200), np.uint8), "clipped"),
        (np.zeros((4, 4, 3), np.uint8), "black"),
        (np.full((4, 4, 3), (40, 30, 0), np.uint8), "black"),
        (np.full((4, 4, 3), np.nan, np.float32), "no valid pixels"),
        (np.full((0, 4, 3), 90, np.uint8), "no valid pixels"),
        (np.full((4, 4, 3), (60, 180, 60), np.uint8), "too coloured"),
        (np.full((4, 4, 3), (200, 60, 50), np.uint8), "too coloured"),
    ],
)
def test_what_can_t_be_a_grey_is_refused_by_name(patch: np.ndarray, reason: str, how: str) -> None:
    depth = Depth.FLOAT if patch.dtype == np.float32 else Depth.U8
    with pytest.raises(PoiseError, match=reason) as refused:
        pick(patch, NEUTRAL, CODED, depth, how)
    assert "\n" not in str(refused.value)


def test_a_refusal_says_how_far() -> None:
    with pytest.raises(PoiseError, match=r"channels lie 0\.47 apart"):
        pick(np.full((4, 4, 3), (60, 180, 60), np.uint8), NEUTRAL, CODED, Depth.U8, "zone")
    # high-pressure sodium is beyond what warmth, magenta and slope may do (CIE HP2)
    with pytest.raises(PoiseError, match=r"still \d+ degrees off neutral"):
        pick(under("HP2", 0.4)[WALL], NEUTRAL, CODED, Depth.U16)


def test_a_patch_that_the_correction_lost_is_refused() -> None:
    patch = np.full((4, 4, 3), (110, 102, 98), np.uint8)
    for levels, name in ((Levels(black=0.5), "black"), (Levels(white=0.3), "white")):
        with pytest.raises(PoiseError, match=f"leaves the patch all {name}"):
            pick(patch, Correction(levels=levels), CODED, Depth.U8, "zone")


def test_a_zone_that_can_t_reach_says_so() -> None:
    # red never comes above 0.2, whatever is put into its curve
    held = Correction(curves=Curves(red=((0, 0), (1, 0.2), (4, 0.2))))
    with pytest.raises(PoiseError, match="shadows can't level"):
        pick(np.full((4, 4, 3), 77, np.uint8), held, CODED, Depth.U8, "zone")
