"""CIEDE2000 against its authors' pairs, and light as L*a*b* under D50."""

import colour
import numpy as np
import pytest

from poise.colour.difference import ciede2000, lab


# Sharma, Wu & Dalal 2005, table 1.
@pytest.mark.parametrize(
    ("first", "second", "difference"),
    [
        ((50, 2.6772, -79.7751), (50, 0, -82.7485), 2.0425),
        ((50, 0, 0), (50, -1, 2), 2.3669),
        ((50, 2.5, 0), (73, 25, -18), 27.1492),
        ((2.0776, 0.0795, -1.1350), (0.9033, -0.0636, -0.5514), 0.9082),
    ],
)
def test_ciede2000_is_that_of_its_authors(
    first: tuple[float, ...], second: tuple[float, ...], difference: float
) -> None:
    assert ciede2000(np.array(first), np.array(second)) == pytest.approx(difference, abs=5e-5)


@pytest.mark.parametrize("primaries", ["ITU-R BT.709", "ITU-R BT.2020", "P3-D65"])
def test_neutrals_of_any_primaries_have_no_colour(primaries: str) -> None:
    seen = lab(np.array([[1.0] * 3, [0.18] * 3]), primaries)
    np.testing.assert_allclose(seen, [[100, 0, 0], [49.496, 0, 0]], atol=0.01)


def test_a_colour_is_that_of_colour_science() -> None:
    rgb = np.array([[0.4, 0.1, 0.05], [0.05, 0.3, 0.6]])
    xyz = colour.RGB_to_XYZ(
        rgb, "ITU-R BT.709", illuminant=(0.34570, 0.35854), chromatic_adaptation_transform="Bradford"
    )
    np.testing.assert_allclose(lab(rgb), colour.XYZ_to_Lab(xyz, (0.34570, 0.35854)), atol=0.02)
