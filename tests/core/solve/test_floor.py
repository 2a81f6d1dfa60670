"""Ends told from noise, the flare that they show, and what tells where it lies: known pictures, known answers."""

import numpy as np
import numpy.typing as npt
import pytest
from skimage import data

from poise.colour.adaptation import light_matrix, planckian_light
from poise.colour.transfer import decode, encode
from poise.correction import CODED, Encoding
from poise.frames.frame import Depth
from poise.solve import measure
from poise.solve.ends import Ends, darkest, ends, noise, squares, whiteness
from poise.solve.floor import colour_difference, in_code, solve_floor
from poise.solve.illuminant import angle
from poise.solve.lights import light, nearest, prior, ratios, settled
from poise.solve.measured import Measured

Code = npt.NDArray[np.float64]
QUIET = np.zeros(3)
BLACK = np.zeros(3), np.zeros(3)
"""The darkest pixels, and their distance from each floor."""


def ramp(low: float, high: float) -> Code:
    """A neutral ramp, (90, 160, 3), with a tenth of its width at either end."""
    across = np.clip(np.linspace(-0.1, 1.1, 160), 0, 1) * (high - low) + low
    return np.repeat(np.broadcast_to(across, (90, 160))[..., None], 3, axis=-1).copy()


def recorded(code: Code) -> Measured:
    return measure(np.floor(np.clip(code, 0, 1) * 65535 + 0.5).astype(np.uint16), CODED, Depth.U16)


@pytest.mark.parametrize("sigma", [0.0, 0.01, 0.02])
def test_ends_are_told_from_noise(sigma: float) -> None:
    code = ramp(0.1, 0.8) + np.random.default_rng(1).normal(0, sigma, (90, 160, 3))
    width = noise(squares(code))
    np.testing.assert_allclose(width, sigma, rtol=0.25, atol=1e-9)  # low, since the quietest squares count
    found = ends(code, width)
    np.testing.assert_allclose(found.low, 0.1, atol=sigma + 1e-9)  # the plain minimum errs by 4 sigma
    np.testing.assert_allclose(found.high, 0.8, atol=sigma + 1e-9)


def test_a_black_and_a_white_are_told_from_coloured_ends() -> None:
    code = ramp(0.1, 0.8)
    at = ends(code, QUIET)
    black, gap = darkest(code, at)
    np.testing.assert_allclose(black, 0.1)
    np.testing.assert_allclose(gap, 0)
    assert whiteness(code, at) == pytest.approx(1)
    primaries = np.repeat(np.eye(3)[None], 30, axis=0) * 0.7 + 0.1  # each pixel is lowest in two channels only
    at = ends(primaries, QUIET)
    assert darkest(primaries, at)[1].max() == pytest.approx(1 / 3)  # the mean of three pixels, one at its ceiling
    assert whiteness(primaries, at) == pytest.approx(0)


def test_what_is_not_finite_tells_nothing() -> None:
    code = ramp(0.1, 0.8)
    code[::7, ::3] = np.nan
    at = ends(code, QUIET)
    np.testing.assert_allclose([at.low, at.high], [[0.1] * 3, [0.8] * 3])
    np.testing.assert_allclose(darkest(code, at)[0], 0.1)


# a lift of the code ends low; a veil leaves white where it was and has the colour of the whites
@pytest.mark.parametrize(
    ("low", "high", "least", "most"),
    [
        ((0.1, 0.1, 0.1), (0.8, 0.8, 0.8), 0.9, 1.0),
        ((0.1, 0.1, 0.1), (1.0, 1.0, 1.0), 0.0, 0.2),
        ((0.11, 0.04, 0.11), (1.0, 1.0, 1.0), 0.9, 1.0),
        ((0.1, 0.1, 0.1), (1.0, 0.95, 0.7), 0.9, 1.0),
    ],
)
def test_ceilings_and_colours_tell_where_flare_lies(
    low: tuple[float, ...], high: tuple[float, ...], least: float, most: float
) -> None:
    share, why = in_code(Ends(np.array(low), np.array(high), QUIET), np.array(low), "sRGB")
    assert least <= share <= most
    assert why


def test_a_veil_of_the_scenes_light_is_alike_and_shows_that_light() -> None:
    lit = light_matrix(80, 0) @ np.ones(3)
    veil, white = (np.clip(encode("sRGB", lit * level), 0, 1) for level in (0.03, 1.0))
    assert white[0] == 1  # red is clipped: it may have been higher
    assert colour_difference(veil, white) == 0
    assert colour_difference(np.full(3, 0.19), white) > 0.35
    plain = decode("sRGB", data.astronaut()[::2, ::2] / 255)  # it holds a black and a white
    found = recorded(encode("sRGB", (plain + 0.03) / 1.03 * lit))
    assert found.floor.veil is not None
    np.testing.assert_allclose(found.floor.veil / found.floor.veil[1], lit / lit[1], rtol=0.03)
    assert found.floor.light.flare_in_code < 0.2
    assert found.illuminant is not None
    assert angle(found.illuminant.light, lit) < 3


def test_black_needs_no_flare_and_a_coloured_surface_or_fog_keeps_its_floor() -> None:
    def flare(low: tuple[float, ...], gap: float = 0.0) -> tuple[float, ...]:
        at = Ends(np.array(low), np.full(3, 0.8), QUIET)
        return solve_floor(at, np.array(low), np.full(3, gap), 1.0, CODED).light.flare

    assert flare((0.01, 0.0, 0.01)) == (0, 0, 0)
    assert flare((0.5, 0.5, 0.5)) == (0, 0, 0)
    np.testing.assert_allclose(flare((0.1, 0.05, 0.12)), (0.092, 0.042, 0.112), atol=1e-6)
    assert flare((0.24, 0.1, 0.0)) == (0, 0, 0)  # so far apart that it is a colour
    np.testing.assert_allclose(flare((0.1, 0.05, 0.12), gap=0.3), 0.042, atol=1e-6)  # no black: the lowest for all


def test_log_and_linear_sources_take_flare_in_light() -> None:
    for source in ("linear", "ACEScct"):
        assert in_code(Ends(np.full(3, 0.1), np.full(3, 0.8), QUIET), np.full(3, 0.1), source)[0] == 0
    lifted = decode("sRGB", ramp(0.15, 0.8))
    code = np.rint(encode("ACEScct", lifted) * 1023).astype(np.uint16)
    found = measure(code, Encoding(source="ACEScct"), Depth.U10)
    assert min(found.floor.light.flare) > 0.02
    assert found.linear.min() < 0.3 * lifted.min()


def test_lights_before_a_picture_is_seen() -> None:
    plane, before = prior("ITU-R BT.709")
    assert light(plane[np.argmax(before)]) == pytest.approx(np.ones(3), abs=0.05)  # balanced already
    lamp, green = (nearest(one, "ITU-R BT.709") for one in (planckian_light(300, "ITU-R BT.709"), [0.5, 1, 0.5]))
    assert before[lamp] > before[green] + 1
    np.testing.assert_allclose(light(ratios(np.array([1.4, 1.0, 0.6]))), [1.4, 1, 0.6])
    told = -((plane - ratios(planckian_light(300, "ITU-R BT.709"))) ** 2).sum(axis=1) / 0.02**2
    found, sure = settled(told, "ITU-R BT.709")
    expected = planckian_light(300, "ITU-R BT.709")
    np.testing.assert_allclose(found, expected / expected[1], rtol=0.03)
    assert sure > 0.9
    assert settled(np.zeros(len(plane)), "ITU-R BT.709")[1] < sure  # nothing seen


def test_a_grey_picture_has_no_light_and_no_flare() -> None:
    found = measure(data.camera()[::2, ::2, None], CODED, Depth.U8)
    assert found.illuminant is None
    assert found.floor.light.flare == (0, 0, 0)
    assert found.full.shape[-1] == 3
