"""The light undone by warmth, magenta and slope: where it can't be the picture's, and where it is a gain in code."""

import colour
import numpy as np
import pytest
from skimage import data

from poise.chain import order
from poise.colour.adaptation import light_matrix
from poise.colour.transfer import decode
from poise.correction import CODED
from poise.frames.frame import Depth
from poise.solve import auto
from poise.solve.illuminant import Illuminant
from poise.solve.neutral import MOST_BELOW, possible, solve_neutral

WHITE = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D65"]
LAMP = light_matrix(80, 5) @ np.ones(3)


def light_of(light: np.ndarray) -> Illuminant:
    return Illuminant(light / light[1], 0.8, 1.0, {}, False, np.zeros(1))


def lab(code: np.ndarray) -> np.ndarray:
    return np.asarray(colour.XYZ_to_Lab(colour.sRGB_to_XYZ(np.clip(code, 0, 1)), WHITE))


def test_a_light_that_would_send_colours_below_black_is_undone_in_part() -> None:
    """Leaves that reflect no red can't stand in lamplight: undoing it would leave them less than none."""
    leaves = np.broadcast_to([0.0, 0.35, 0.1], (40, 60, 3))
    found = possible(light_of(LAMP), leaves, "ITU-R BT.709")
    assert found.share < 0.1
    assert found.confidence == pytest.approx(0.8 * found.share)
    solved = solve_neutral(light_of(LAMP), leaves, CODED)
    assert "would push colours below black" in solved.note
    below = leaves @ light_matrix(solved.warmth, solved.magenta).T < -1.5e-4
    assert below.any(axis=-1).mean() <= MOST_BELOW


@pytest.mark.parametrize("name", ["astronaut", "coffee"])
def test_a_photograph_in_lamplight_is_undone_in_full(name: str) -> None:
    photograph = decode("sRGB", getattr(data, name)()[::6, ::6] / 255)
    lit = photograph @ light_matrix(80, 5).T
    assert possible(light_of(LAMP), lit, "ITU-R BT.709").share == 1


@pytest.mark.parametrize("name", ["astronaut", "coffee"])
def test_gains_and_offsets_of_each_channel_in_code_go(name: str) -> None:
    """By slope, as they were made; colour-science judges what is left."""
    photograph = getattr(data, name)()[::2, ::2] / 255
    pixels = np.rint(255 * (photograph * (0.92, 0.74, 0.83) + (0.02, 0.06, 0.1))).astype(np.uint8)
    correction = auto(pixels, CODED, Depth.U8).correction
    code = pixels[::4, ::4] / 255
    for stage in order.steps(correction, CODED, clamp=True):
        code = stage(code)
    off = colour.delta_E(lab(code), lab(photograph[::4, ::4]), method="CIE 2000")
    assert off.mean() < 1.5
    assert correction.balance.slope != (1, 1, 1)
