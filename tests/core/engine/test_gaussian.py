"""The fast Gaussian against scipy's, over the seams between its ways."""

from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest
from scipy import ndimage

from poise.engine.gaussian import WIDE, blur

SIGMAS = (0.05, 0.3, 0.7, 1.5, 3.0, WIDE - 0.01, WIDE, 7.0, 12.0, 20.0, 23.0, 24.5, 60.0, 100.0, 400.0)


@pytest.mark.parametrize("shape", [(150, 220), (1, 50), (50, 1), (1, 1), (77, 300), (301, 90)])
@pytest.mark.parametrize("kind", ["noise", "edge", "specks"])
def test_within_1e_4_of_scipy(shape: tuple[int, int], kind: str) -> None:
    rng = np.random.default_rng(2)
    made = {
        "noise": rng.random(shape),
        "edge": np.indices(shape).sum(0) > shape[1] / 2,
        "specks": rng.random(shape) > 0.97,
    }
    values = made[kind].astype(np.float32)
    with ThreadPoolExecutor(2) as two, ThreadPoolExecutor(1) as one:
        for sigma in SIGMAS:
            ours = blur(values, sigma, two)
            theirs = ndimage.gaussian_filter(values.astype(float), sigma, mode="nearest", truncate=4)
            assert np.abs(ours - theirs).max() < 1e-4, sigma
            assert np.array_equal(ours, blur(values, sigma, one))


@pytest.mark.parametrize("sigma", [2.0, 9.0])
def test_far_from_the_matte_it_is_exactly_0(sigma: float) -> None:
    values = np.zeros((200, 200), np.float32)
    values[:20, :20] = 1
    with ThreadPoolExecutor(1) as pool:
        assert not blur(values, sigma, pool)[90:, 90:].any()
