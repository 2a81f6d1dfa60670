"""The fast median against scipy's, bit for bit."""

from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest
from scipy import ndimage

from poise.chain import matte
from poise.engine.median import denoise


@pytest.mark.parametrize("shape", [(100, 70), (1, 50), (50, 1), (1, 1), (130, 41)])
@pytest.mark.parametrize("hard", [False, True])
def test_equals_scipy_and_the_reference(shape: tuple[int, int], hard: bool) -> None:
    noise = np.random.default_rng(4).random(shape)
    values = np.where(hard, noise > 0.5, np.clip(noise * 2 - 0.5, 0, 1)).astype(np.float32)
    with ThreadPoolExecutor(2) as two, ThreadPoolExecutor(1) as one:
        for radius in (1, 2, 5, 9, 60):
            ours = denoise(values, radius, two)
            assert np.array_equal(ours, denoise(values, radius, one))
            assert np.array_equal(ours, matte.denoise(values.astype(float), radius))
            if radius <= 5:
                assert np.array_equal(ours, ndimage.median_filter(values, 2 * radius + 1, mode="nearest"))
