"""The reel: figures on ramps that are known, the rule against scipy, and what it must not mark."""

import numpy as np
import pytest
import skimage.data
from scipy.stats import median_abs_deviation

from poise.scopes import measure
from poise.scopes.reel import FIGURES, LEAST, LEAST_SHOTS, Figure, compared, figures, reel


def place(band, channel=""):
    return FIGURES.index(Figure(band, channel))


def test_the_figures_of_a_ramp_are_its_percentiles():
    ramp = np.linspace(0, 1, 1001)[:, None, None] * np.array([1.0, 0.8, 0.5])
    found = figures(measure(ramp))
    for channel, top in (("red", 100), ("green", 80), ("blue", 50)):
        levels = [found[place(band, channel)] for band in ("black", "middle", "white")]
        assert levels == pytest.approx([0.005 * top, 0.5 * top, 0.995 * top], abs=1e-4)
    spreads = [found[place(band)] for band in ("black", "middle", "white")]
    assert spreads == pytest.approx([0.25, 25, 49.75], abs=1e-4)


def test_the_middle_and_the_scores_are_scipys():
    rng = np.random.default_rng(7)
    reels = np.abs(rng.normal(50, 12, (101, len(FIGURES))))
    reels[13] *= 3
    found = reel(reels)
    # scale="normal" divides by the quartile of the normal distribution, 0.67449: 1.4826 to four decimals
    deviation = median_abs_deviation(reels, scale="normal")
    np.testing.assert_allclose(found.median, np.median(reels, axis=0))
    np.testing.assert_allclose(found.deviation, deviation, rtol=1e-4)
    scores = (reels - np.median(reels, axis=0)) / deviation
    scores[:, -3:] = np.maximum(scores[:, -3:], 0)
    np.testing.assert_allclose(found.scores, scores, rtol=1e-4)
    assert found.outliers.tolist() == (np.abs(scores) > 3.5).any(axis=1).tolist()
    assert found.outliers[13]


def test_the_published_form_of_the_score_is_met():
    """0.6745 (x - median) / MAD, over 3.5 an outlier: Iglewicz and Hoaglin (1993), as the NIST/SEMATECH e-Handbook
    of Statistical Methods, 1.3.5.17, cites them."""
    data = np.array([2.1, 2.6, 2.4, 2.5, 2.3, 2.1, 2.3, 2.6, 8.2, 8.3]) * 10
    found = reel(np.tile(data[:, None], len(FIGURES)))
    published = 0.6745 * (data - np.median(data)) / median_abs_deviation(data)
    np.testing.assert_allclose(found.scores[:, 0], published, rtol=1e-4)
    assert np.flatnonzero(found.outliers).tolist() == np.flatnonzero(np.abs(published) > 3.5).tolist() == [8, 9]


def test_two_shots_in_five_may_be_off_without_hiding_any():
    rng = np.random.default_rng(3)
    levels = rng.normal(50, 1, (50, len(FIGURES)))
    levels[:20] += rng.uniform(15, 60, (20, 1))
    apart = reel(levels).outliers
    assert apart[:20].all()
    assert not apart[20:].any()


def test_a_very_even_reel_marks_no_small_difference():
    even = np.full((20, len(FIGURES)), 93.0)
    even[4, 5] += 0.5
    even[5, 5] += LEAST - 0.01
    even[6, 5] += LEAST + 0.01
    assert np.flatnonzero(reel(even).outliers).tolist() == [6]


def test_colours_that_lie_closer_than_the_reels_are_no_fault():
    levels = np.full((9, len(FIGURES)), 30.0)
    levels[0, place("white")] = 0
    levels[1, place("white")] = 60
    found = reel(levels)
    assert np.flatnonzero(found.outliers).tolist() == [1]
    assert str(found.reasons(1)[0]) == "red, green and blue 60 % apart at white, the reel's is 30 ± 0"


def test_a_short_reel_has_none_apart_and_still_a_middle():
    levels = np.tile(np.array([10.0, 10, 10, 90])[:, None], len(FIGURES))
    assert len(levels) < LEAST_SHOTS
    found = reel(levels)
    assert not found.outliers.any()
    assert found.median.tolist() == [10.0] * len(FIGURES)
    longer = reel(np.vstack([levels[:3], levels[:3], levels[3:]]))
    assert np.flatnonzero(longer.outliers).tolist() == [6]


def test_shots_that_are_not_known_count_for_nothing():
    levels = np.full((12, len(FIGURES)), 40.0)
    levels[::2] = np.nan
    levels[3, 0] = 80
    found = reel(levels)
    assert (found.counted, np.flatnonzero(found.outliers).tolist()) == (6, [3])
    assert found.reasons(0) == ()
    assert reel(np.full((3, len(FIGURES)), np.nan)).counted == 0
    assert reel(np.zeros((0, len(FIGURES)))).outliers.tolist() == []


def test_a_tinted_photograph_is_found_among_its_likes_and_the_reason_is_told():
    photograph = skimage.data.astronaut()[::4, ::4] / 255
    rng = np.random.default_rng(1)
    pictures = [photograph * rng.uniform(0.97, 1.0) for _ in range(8)]
    pictures[5] = photograph * np.array([1.0, 1.0, 0.7])
    found = compared([measure(picture) for picture in pictures])
    assert np.flatnonzero(found.outliers).tolist() == [5]
    white = measure(pictures[5]).blue.white
    told = [str(reason) for reason in found.reasons(5)]
    assert any(one.startswith(f"white of blue {white:.0f} %, the reel's is ") for one in told), told
    assert compared([None, measure(photograph)]).counted == 1
