"""Four published estimators: what they say of a chart, of pictures made for them, and under any light."""

from collections.abc import Callable

import colour
import numpy as np
import pytest
from skimage import data

from poise.colour.transfer import decode
from poise.solve.estimators import common_peak, edges, gray_world, grey_edge, max_rgb, shades_of_gray
from poise.solve.illuminant import angle

ALL = (gray_world, max_rgb, shades_of_gray, grey_edge)
TO_RGB = np.linalg.inv(colour.RGB_COLOURSPACES["ITU-R BT.709"].matrix_RGB_to_XYZ)


def seen(spectrum: object, light: object) -> np.ndarray:
    cmfs = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
    return TO_RGB @ colour.sd_to_XYZ(spectrum, cmfs, light) / 100


# Degrees off on a bare 24-patch chart, of colour-science 0.4.7, 'BabelColor Average', each patch one pixel.
@pytest.mark.parametrize(
    ("estimator", "illuminant", "error"),
    [
        (gray_world, "A", 4.91),
        (lambda chart: max_rgb(chart, percentile=100), "A", 0.40),
        (shades_of_gray, "A", 1.67),
        (gray_world, "D65", 8.67),
        (shades_of_gray, "D65", 4.34),
        (shades_of_gray, "FL2", 2.05),
    ],
)
def test_a_bare_chart_errs_as_published(estimator: Callable[..., np.ndarray], illuminant: str, error: float) -> None:
    light = colour.SDS_ILLUMINANTS[illuminant]
    patches = colour.SDS_COLOURCHECKERS["BabelColor Average"].values()
    chart = np.array([seen(patch, light) for patch in patches]).reshape(4, 6, 3)
    assert angle(estimator(chart), seen(colour.sd_ones(light.shape), light)) == pytest.approx(error, abs=0.05)


@pytest.mark.parametrize("estimator", ALL)
def test_estimates_follow_the_light_channel_by_channel(estimator: Callable[..., np.ndarray]) -> None:
    light = decode("sRGB", data.astronaut()[::3, ::3] / 255)
    gains = np.array([1.3, 1.0, 0.6])
    np.testing.assert_allclose(estimator(light * gains), estimator(light) * gains, rtol=1e-9)


@pytest.mark.parametrize("estimator", ALL)
def test_estimates_do_not_follow_exposure(estimator: Callable[..., np.ndarray]) -> None:
    light = decode("sRGB", data.coffee()[::3, ::3] / 255)
    for exposed in (1e-12, 1e6):
        np.testing.assert_allclose(estimator(light * exposed), estimator(light), rtol=1e-9)


def test_shades_of_gray_goes_from_gray_world_to_max_rgb() -> None:
    light = decode("sRGB", data.astronaut()[::3, ::3] / 255) * [1.5, 1, 0.5]
    np.testing.assert_allclose(shades_of_gray(light, norm=1), gray_world(light))
    np.testing.assert_allclose(shades_of_gray(light, norm=2000), max_rgb(light, percentile=100), rtol=0.01)


def test_grey_edge_sees_the_light_in_edges_where_the_mean_is_of_one_colour() -> None:
    light = np.array([1.5, 1.0, 0.5])
    wall = np.full((40, 60, 3), [0.4, 0.1, 0.05]) * light
    wall[10:14, 10:50] += 0.3 * light  # a highlight mirrors the light as it is
    assert angle(grey_edge(wall), light) < 1e-6
    assert angle(gray_world(wall), light) > 20


@pytest.mark.parametrize("estimator", ALL)
def test_what_tells_nothing_is_left_out(estimator: Callable[..., np.ndarray]) -> None:
    light = decode("sRGB", data.astronaut()[::4, ::4] / 255)
    told = np.ones(light.shape[:2], bool)
    told[20:40, 30:60] = False
    spoilt = light.copy()
    spoilt[20:40, 30:60] = [0, 40, 0]
    np.testing.assert_allclose(estimator(spoilt, told), estimator(light, told))
    spoilt[20:40, 30:60] = np.nan
    np.testing.assert_allclose(estimator(spoilt), estimator(light, told))


@pytest.mark.parametrize("estimator", ALL)
@pytest.mark.parametrize("shape", [(1, 1), (1, 300), (2, 2), (30, 40)])
def test_black_and_empty_pictures_tell_nothing(estimator: Callable[..., np.ndarray], shape: tuple[int, int]) -> None:
    for value in (0.0, -1.0, np.nan):
        assert estimator(np.full((*shape, 3), value)).tolist() == [1, 1, 1]


def test_the_common_peak_tells_a_white_from_bright_colours() -> None:
    colours = np.array([[1.0, 0.1, 0.1], [0.1, 1.0, 0.1], [0.1, 0.1, 1.0]])
    assert common_peak(colours, 100) == pytest.approx(0.1)
    assert common_peak(np.array([*colours, [2.0, 1.0, 0.5]]) * [3, 1, 2], 100) == pytest.approx(0.5)
    assert common_peak(np.zeros((0, 3))) == common_peak(np.zeros((5, 3))) == 0
    assert edges(np.ones((2, 9, 3))).shape == (0, 3)
