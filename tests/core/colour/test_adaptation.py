"""The light matrix against published whites, filters and gains."""

import colour
import numpy as np
import pytest

from poise.colour.adaptation import BASE_KELVIN, CAT16, D65, PRIMARIES, _to_xyz, light_matrix, planckian_white
from poise.errors import PoiseError

FROM_XYZ = np.linalg.inv(colour.RGB_COLOURSPACES["ITU-R BT.709"].matrix_RGB_to_XYZ)


@pytest.mark.parametrize(
    ("warmth", "gains"),  # ratio of Planckian whites in linear BT.709, by colour-science 0.4.7
    [(18, (1.07114, 1, 0.89475)), (131, (1.64776, 1, 0.42271)), (-131, (0.64303, 1, 2.09142))],
)
def test_planckian_whites(warmth: float, gains: tuple[float, float, float]) -> None:
    ratio = (FROM_XYZ @ planckian_white(1e6 / (1e6 / BASE_KELVIN + warmth))) / (FROM_XYZ @ planckian_white(BASE_KELVIN))
    np.testing.assert_allclose(ratio / ratio[1], gains, atol=1e-4)


def test_5500_to_3200_kelvin_is_130_682_mired() -> None:
    warmth = 1e6 / 3200 - 1e6 / BASE_KELVIN  # from the definition of the mired
    assert warmth == pytest.approx(130.682, abs=1e-3)
    base = np.linalg.inv(FROM_XYZ) @ light_matrix(warmth) @ FROM_XYZ @ planckian_white(BASE_KELVIN)
    np.testing.assert_allclose(base, planckian_white(3200), atol=1e-9)


def test_warmth_is_cat16_of_colour_science() -> None:
    ours = np.linalg.inv(FROM_XYZ) @ light_matrix(50) @ FROM_XYZ
    theirs = colour.adaptation.matrix_chromatic_adaptation_VonKries(
        planckian_white(BASE_KELVIN), planckian_white(1e6 / (1e6 / BASE_KELVIN + 50)), transform="CAT16"
    )
    np.testing.assert_allclose(ours, theirs, atol=1e-9)


@pytest.mark.parametrize(("cc", "gain"), [(10, 0.794328), (30, 0.501187)])  # density .10 and .30, from the definition
def test_magenta_takes_green_by_density(cc: float, gain: float) -> None:
    red, green, blue = light_matrix(magenta=cc).diagonal()
    assert green / red == pytest.approx(gain, abs=1e-6)
    assert red == blue
    assert 0.2126 * red + 0.7152 * green + 0.0722 * blue == pytest.approx(1, abs=1e-12)


def test_one_printer_point_is_a_twelfth_of_a_stop() -> None:
    # .025 log exposure, x 1.059254 (encyclopaedia of the trade): .083048 stop
    assert light_matrix(exposure=1 / 12)[0, 0] == pytest.approx(1.059254, abs=3e-4)


def test_primaries_meet_colour_science() -> None:
    theirs = colour.matrix_RGB_to_RGB("ITU-R BT.2020", "ITU-R BT.709", "CAT16")
    np.testing.assert_allclose(
        light_matrix(primaries="ITU-R BT.2020", delivery_primaries="ITU-R BT.709"), theirs, atol=1e-6
    )


@pytest.mark.parametrize("name", PRIMARIES)
def test_own_primaries_are_those_of_colour_science(name: str) -> None:
    space = colour.RGB_COLOURSPACES[name]
    np.testing.assert_allclose(_to_xyz(name), space.matrix_RGB_to_XYZ, atol=1e-12)
    np.testing.assert_allclose(D65, space.whitepoint, atol=1e-12)
    np.testing.assert_array_equal(CAT16, colour.adaptation.CAT_CAT16)


def test_unknown_primaries_are_refused() -> None:
    with pytest.raises(PoiseError, match="no primaries"):
        light_matrix(warmth=5, primaries="harbour")
