"""Transfer functions: published pairs, and the way there and back for every name."""

import numpy as np
import pytest

from poise.colour.transfer import NOT_INVERTIBLE, decode, encode, names
from poise.errors import PoiseError

# Light and code of each standard, as computed by colour-science 0.4.7 from the documents named.
PAIRS = [
    ("sRGB", 0.0031308, 0.040449936),  # IEC 61966-2-1
    ("sRGB", 0.18, 0.461356130),
    ("sRGB", 0.214041140, 0.5),
    ("ITU-R BT.709", 0.018, 0.081247944),
    ("ITU-R BT.709", 0.18, 0.409007729),
    ("ITU-R BT.709", 0.259589401, 0.5),
    ("ITU-R BT.1886", 0.189464571, 0.5),
    ("ITU-R BT.2100 PQ", 92.245709 / 10000, 0.5),
    ("ITU-R BT.2100 PQ", 100 / 10000, 0.508078422),
    ("ITU-R BT.2100 PQ", 203 / 10000, 0.580688881),
    ("ITU-R BT.2100 PQ", 1000 / 10000, 0.751827096),
    ("ITU-R BT.2100 HLG", 1 / 12, 0.5),
    ("ITU-R BT.2100 HLG", 0.18, 0.672358132),
    ("ACEScct", 0.0, 0.0729055342),  # Academy S-2016-001
    ("ACEScct", 0.0078125, 0.1552511416),
    ("ACEScct", 0.18, 0.4135884025),
    ("ACEScct", 1.0, 0.5547945205),
]


@pytest.mark.parametrize(("name", "light", "code"), PAIRS)
def test_published_pair(name: str, light: float, code: float) -> None:
    assert encode(name, light) == pytest.approx(code, abs=1e-8)
    # BT.709's two rounded constants leave a seam just above code 0.081
    assert decode(name, code) == pytest.approx(light, abs=1e-4 if (name, light) == ("ITU-R BT.709", 0.018) else 2e-8)


@pytest.mark.parametrize("name", names())
def test_there_and_back(name: str) -> None:
    code = np.linspace(0.1, 0.9, 1000)
    assert np.abs(encode(name, decode(name, code)) - code).max() < 1e-5


@pytest.mark.parametrize("name", names())
def test_finite_everywhere(name: str) -> None:
    values = np.array([-4.0, -1e-3, 0.0, 1e-12, 0.5, 1.0, 4.0])
    assert np.isfinite(encode(name, values)).all()
    assert np.isfinite(decode(name, np.clip(values, -0.1, 1.0))).all()


def test_nan_stays_nan() -> None:
    assert np.isnan(encode("sRGB", np.nan))


@pytest.mark.parametrize("name", ["sRGBB", *NOT_INVERTIBLE])
def test_unknown_name_is_refused_with_a_near_one(name: str) -> None:
    with pytest.raises(PoiseError, match="use linear, or a name such as"):
        decode(name, 0.5)
