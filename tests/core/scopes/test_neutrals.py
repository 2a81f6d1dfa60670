"""The cast of near-neutrals: known casts are named, and a picture without neutrals has none."""

import numpy as np
import pytest

from poise.colour.luma import to_ycbcr
from poise.scopes import hue_name, measure

# Angles of the BT.709 bars (SMPTE RP 219), rounded.
ANGLES = {"red": 103, "magenta": 50, "blue": 355, "cyan": 283, "green": 230, "yellow": 175}


@pytest.mark.parametrize("name", ANGLES)
def test_hue_names_wrap_round_the_circle(name):
    assert hue_name(ANGLES[name]) == hue_name(ANGLES[name] + 20) == hue_name(ANGLES[name] - 360) == name


@pytest.mark.parametrize(
    ("tint", "name"),
    [((1, 0, 0), "red"), ((1, 1, 0), "yellow"), ((0, 1, 0), "green"), ((0, 1, 1), "cyan"), ((0, 0, 1), "blue")],
)
def test_a_tinted_grey_picture_tells_its_tint(tint, name):
    grey = np.linspace(0.1, 0.8, 400).reshape(20, 20, 1)
    cast = measure(grey + 0.06 * np.array(tint)).cast
    _, cb, cr = to_ycbcr(0.06 * np.array(tint, float))
    assert cast.hue == name
    assert cast.amount == pytest.approx(100 * np.hypot(cb, cr), abs=1e-3)
    assert cast.angle == pytest.approx(np.degrees(np.arctan2(cr, cb)) % 360, abs=0.01)


def test_strong_colours_do_not_sway_it():
    picture = np.random.default_rng(6).uniform(0.2, 0.8, (40, 40, 1)) + np.array([0.03, 0, 0])
    picture[:20] = (0.1, 0.2, 0.9)
    assert measure(picture).cast.hue == "red"


@pytest.mark.parametrize("colour", [(0.0, 0.1, 0.9), (0.0, 0.0, 0.0), (1.0, 1.0, 1.0)])
def test_no_near_neutrals_no_cast(colour):
    cast = measure(np.broadcast_to(np.array(colour), (8, 8, 3))).cast
    assert cast.hue == "none"
    assert np.isnan([cast.angle, cast.amount]).all()


def test_a_cast_too_small_to_see_has_no_name():
    cast = measure(np.broadcast_to(np.array([0.504, 0.5, 0.5]), (8, 8, 3))).cast
    assert cast.hue == "none"
    assert 0 < cast.amount < 0.5
