"""Each operation's formula against a published value, a definition, or another library."""

import numpy as np
import pytest
from scipy.interpolate import PchipInterpolator

from poise.chain import balance, curves, order, saturation, tone
from poise.correction import Balance, Correction, Curves, Encoding, Levels, Light, Tone

# ASC CDL v1.2 reference values: input, clamping style, no-clamp style (OpenColorIO 2.6.0 agrees to 1e-6).
CDL = Correction(balance=Balance((1.1, 1, 0.9), (0.02, -0.03, 0.05), (0.9, 1, 1.2)), saturation=1.25)
CDL_VALUES = [
    ((0.18, 0.18, 0.18), (0.274218, 0.144381, 0.151199), (0.274218, 0.144381, 0.151199)),
    ((0.5, 0.25, 0.75), (0.670044, 0.191346, 0.766144), (0.670044, 0.191346, 0.766144)),
    ((1, 0, 0.02), (1, 0, 0), (1.330013, -0.091710, -0.004560)),
    ((-0.1, 0.01, 1.3), (0, 0, 1), (-0.127055, -0.039555, 1.572317)),
]


def run(correction: Correction, rgb: object, clamp: bool = True) -> np.ndarray:
    values = np.array(rgb, np.float64)
    for stage in order.steps(correction, Encoding(), clamp):
        values = stage(values)
    return values


@pytest.mark.parametrize(("rgb", "clamped", "open_ended"), CDL_VALUES)
def test_asc_cdl(rgb: object, clamped: object, open_ended: object) -> None:
    np.testing.assert_allclose(run(CDL, rgb), clamped, atol=1e-6)
    np.testing.assert_allclose(run(CDL, rgb, clamp=False), open_ended, atol=1e-6)


def test_levels_send_black_to_0_white_to_1_and_hold_the_pivot() -> None:
    assert run(Correction(levels=Levels(0.1, 0.9)), [0.1, 0.5, 0.9]) == pytest.approx([0, 0.5, 1])
    assert run(Correction(levels=Levels(contrast=1.5, pivot=0.4)), [0.4, 0.5, 0.2]) == pytest.approx([0.4, 0.55, 0.1])


def test_balance_and_levels_fold_to_one_affine_step() -> None:
    slope, offset = balance.affine(Balance((1.2, 1, 0.8), (0.1, 0, -0.1)), Levels(0.05, 0.95, 1.1, 0.5))
    v = np.array([0.3, 0.3, 0.3])
    by_hand = 0.5 + 1.1 * (((np.array([1.2, 1, 0.8]) * v + [0.1, 0, -0.1]) - 0.05) / 0.9 - 0.5)
    np.testing.assert_allclose(slope * v + offset, by_hand, atol=1e-12)


@pytest.mark.parametrize("toe", [-1, -0.4, 0, 0.7, 1])
@pytest.mark.parametrize("shoulder", [-1, 0.3, 1])
@pytest.mark.parametrize("pivot", [0.2, 0.46, 0.8])
def test_tone_is_monotone_smooth_and_holds_its_ends(toe: float, shoulder: float, pivot: float) -> None:
    v = np.linspace(-0.5, 1.5, 4001)
    bent = tone.bend(v, Tone(toe, shoulder), pivot)
    slope = np.gradient(bent, v)
    assert np.diff(bent).min() >= -1e-12
    assert np.abs(np.diff(slope)).max() < 0.02  # no corner
    np.testing.assert_allclose(
        tone.bend(np.array([0.0, pivot, 1.0]), Tone(toe, shoulder), pivot), [0, pivot, 1], atol=1e-12
    )


def test_curves_equal_scipy_pchip_never_overshoot_and_stay_flat() -> None:
    rng = np.random.default_rng(7)
    for _ in range(200):
        x = np.cumsum(rng.uniform(0.01, 0.2, 8))
        y = np.cumsum(rng.choice([0.0, 0.1, 0.02], 8))
        points = tuple(zip(x.tolist(), y.tolist(), strict=True))
        at = np.linspace(x[0], x[-1], 300)
        ours = curves.curve(points)(at)
        np.testing.assert_allclose(ours, PchipInterpolator(x, y)(at), atol=1e-12)
        assert np.diff(ours).min() >= -1e-12
        np.testing.assert_allclose(curves.curve(points)(x), y, atol=1e-12)


def test_a_curve_goes_straight_on_beyond_its_ends() -> None:
    bent = curves.curve(((0.0, 0.0), (0.5, 0.7), (1.0, 1.0)))
    v = np.array([1.0, 1.1, 1.2, 1.3])
    np.testing.assert_allclose(np.diff(bent(v), 2), 0, atol=1e-12)


def test_master_acts_after_the_channels() -> None:
    bent = Correction(
        curves=Curves(red=((0.0, 0.0), (0.5, 0.8), (1.0, 1.0)), master=((0.0, 0.0), (0.8, 0.4), (1.0, 1.0)))
    )
    assert run(bent, [0.5, 0, 1])[0] == pytest.approx(0.4, abs=1e-12)


def test_saturation_weights_are_those_of_asc_cdl() -> None:
    grey = saturation.stages(0.0)[0](np.eye(3))
    np.testing.assert_allclose(grey[:, 0], [0.2126, 0.7152, 0.0722], atol=1e-12)


def test_linear_work_runs_in_srgb_code() -> None:
    steps = order.steps(Correction(saturation=1.1), Encoding("linear", "linear"), clamp=False)
    assert steps[0](np.array([[0.18]])) == pytest.approx(0.461356130, abs=1e-9)  # IEC 61966-2-1


def test_neutral_is_nothing() -> None:
    assert order.steps(Correction(), Encoding(), clamp=True) == []
    assert order.is_neutral(Correction(light=Light()), Encoding())
    assert not order.is_neutral(Correction(), Encoding(source="ACEScct"))
