"""The histogram against numpy's on a photograph."""

import numpy as np
import skimage.data

from poise.scopes import HIGH, LOW, histogram

NUDGE = 1e-6
"""Puts a level on an edge into the upper bin, as the instruments do, whatever its rounding."""


def test_agrees_with_numpy_on_a_photograph():
    photograph = skimage.data.astronaut()
    counts = histogram(photograph, 250)
    for channel in range(3):
        levels = photograph[..., channel] / 255 + NUDGE
        np.testing.assert_array_equal(counts[channel + 1], np.histogram(levels, 250, (LOW, HIGH))[0])
    luma = photograph / 255 @ [0.2126, 0.7152, 0.0722] + NUDGE
    np.testing.assert_allclose(counts[0], np.histogram(luma, 250, (LOW, HIGH))[0], atol=2)


def test_the_same_picture_as_codes_and_as_levels():
    photograph = skimage.data.astronaut()[::3, ::3]
    np.testing.assert_array_equal(histogram(photograph, 64), histogram((photograph / 255).astype(np.float32), 64))


def test_levels_outside_are_counted_in_the_end_bins():
    assert histogram(np.array([-9.0, 9.0, 9.0]).reshape(1, 3, 1), 3)[1].tolist() == [1, 0, 2]
