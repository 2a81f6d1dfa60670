"""The common transfer functions, against those of colour-science."""

import colour
import numpy as np
import pytest

from poise.colour.common_transfer import COMMON


@pytest.mark.parametrize("name", COMMON)
def test_they_are_those_of_colour_science_below_black_and_above_white_as_well(name: str) -> None:
    values = np.concatenate([np.linspace(-1, 4, 50_001), [0.018, 0.0031308, 0.04045, 0.081, np.inf, -np.inf, np.nan]])
    decode, encode = COMMON[name]
    with np.errstate(invalid="ignore"):
        np.testing.assert_allclose(decode(values), colour.CCTF_DECODINGS[name](values), rtol=1e-15)
        np.testing.assert_allclose(encode(values), colour.CCTF_ENCODINGS[name](values), rtol=1e-15)
