"""The light that four estimators agree on, and how sure that is; figures on many scenes are in tests/spectral."""

import numpy as np
import pytest
from skimage import data

from poise.colour.adaptation import light_matrix, planckian_light
from poise.colour.transfer import decode
from poise.solve.illuminant import angle, illuminant

PHOTOGRAPH = decode("sRGB", data.astronaut()[::3, ::3] / 255)


# CIE 15: illuminant A is a Planckian radiator at 2855.5 K (c2 of ITS-90); published linear BT.709 of A below.
def test_the_locus_goes_through_illuminant_a() -> None:
    assert angle(planckian_light(1e6 / 2855.5), [1.84532, 0.82606, 0.23332]) < 0.05


@pytest.mark.parametrize("warmth", [-80, -30, 40, 120])
def test_a_light_on_a_photograph_is_found_with_confidence(warmth: float) -> None:
    light = light_matrix(warmth) @ np.ones(3)
    found = illuminant(PHOTOGRAPH * light)
    assert angle(found.light, light) < 2.5
    assert found.confidence > 0.6
    assert found.share == 1


def test_exposure_and_what_is_not_a_number_change_nothing() -> None:
    found = illuminant(PHOTOGRAPH * [1.4, 1, 0.6])
    dark = illuminant(PHOTOGRAPH * [1.4, 1, 0.6] * 1e-3)
    np.testing.assert_allclose(dark.light, found.light, rtol=1e-6)
    spoilt = PHOTOGRAPH * [1.4, 1, 0.6]
    spoilt[5:9, 5:9] = [np.nan, np.inf, 0]
    np.testing.assert_allclose(illuminant(spoilt).light, found.light, rtol=0.02)


def test_clipped_highlights_are_left_out_unless_there_is_nothing_else() -> None:
    lit = PHOTOGRAPH * [1.6, 1, 0.5]
    clipped = np.zeros(lit.shape[:2], bool)
    clipped[:40, :60] = True
    lit[:40, :60] = 1
    assert angle(illuminant(lit, clipped).light, [1.6, 1, 0.5]) < 4
    assert illuminant(lit, np.ones_like(clipped)).light == pytest.approx(illuminant(lit).light)


def test_estimators_that_agree_make_sure_and_a_green_light_is_doubted() -> None:
    rng = np.random.default_rng(3)
    greys = np.kron(rng.uniform(0.1, 0.9, (9, 16, 1)), np.ones((10, 10, 3)))
    tinted = np.kron(rng.uniform(0.5, 1.5, (9, 16, 3)), np.ones((10, 10, 1)))
    warm = illuminant(np.clip(greys * tinted, 0, 1) * planckian_light(300))
    green = illuminant(np.clip(greys * tinted, 0, 1) * [0.4, 1, 0.4])
    assert warm.confidence > green.confidence
    assert angle(warm.light, planckian_light(300)) < angle(green.light, [0.4, 1, 0.4])


def test_nothing_to_go_by_is_no_confidence() -> None:
    for picture in (np.zeros((20, 30, 3)), np.full((20, 30, 3), np.nan)):
        found = illuminant(picture)
        assert (found.light.tolist(), found.confidence, found.estimates) == ([1, 1, 1], 0, {})
    wall = np.full((60, 90, 3), [0.5, 0.1, 0.05])
    assert illuminant(wall).one_colour
    assert illuminant(wall).confidence < 0.25
    assert angle(illuminant(wall).undone) < angle(wall[0, 0]) / 3


def test_light_is_found_in_other_primaries() -> None:
    light = planckian_light(290, "ITU-R BT.2020")
    assert angle(illuminant(PHOTOGRAPH * light, primaries="ITU-R BT.2020").light, light) < 2.5
