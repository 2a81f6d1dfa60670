"""The standard observer, against the table of colour-science."""

import colour
import numpy as np

from poise.colour.observer import observer


def test_it_is_the_table_of_colour_science() -> None:
    theirs = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
    wavelengths, values = observer()
    np.testing.assert_allclose(wavelengths * 1e9, theirs.wavelengths, rtol=1e-12)
    np.testing.assert_array_equal(values, theirs.values)
