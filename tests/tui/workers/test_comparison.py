"""How far a view stands from the one beside it, against scipy's Wasserstein distance, and which views are taken."""

from pathlib import Path

import numpy as np
import pytest
from scipy.stats import wasserstein_distance
from skimage import data

from poise.correction import CODED, NEUTRAL, Correction, Levels
from poise.frames import Depth, Frame, proxy
from poise.solve import distribution, match
from poise_tui.measure.loaded import Loaded
from poise_tui.measure.loaded import loaded as prepared
from poise_tui.measure.view import Grids, View
from poise_tui.workers.comparison import Comparison
from poise_tui.workers.thread import Answer, answer
from poise_tui.workers.viewer import Wanted, fine

GRIDS = Grids(40, 12, 40, 40)


def wanted(correction: Correction = NEUTRAL, picture: Loaded | None = None) -> Wanted:
    return Wanted(picture or loaded(), correction, CODED, GRIDS)


def picture(pixels: np.ndarray) -> Loaded:
    return prepared(Path("still.png"), None, Frame(pixels, Depth.U8), proxy(pixels))


def loaded() -> Loaded:
    """A cup of coffee (skimage.data)."""
    small = data.coffee()[::2, ::2].copy()
    return Loaded(Path("cup.png"), None, small, Depth.U8, 300, 200, False, 1, small, Depth.U8)


def test_how_far_two_views_stand_apart_is_the_mean_wasserstein_distance() -> None:
    picture = loaded()
    plain, other = (answer(wanted(one, picture), fine) for one in (NEUTRAL, Correction(levels=Levels(black=0.1))))
    beside = Comparison(lambda found: None)
    beside.want(other.asked)
    assert beside.take(other)
    assert isinstance(plain.found, View)
    assert isinstance(other.found, View)
    a, b = (np.asarray(one.found.levels).reshape(-1, 3) for one in (plain, other))  # type: ignore[union-attr]
    true = 100 * np.mean([wasserstein_distance(a[:, c], b[:, c]) for c in range(3)])
    assert beside.difference(plain.found) == pytest.approx(true, abs=0.05)
    assert beside.difference(other.found) == 0
    beside.end()


def test_the_figure_is_the_one_that_match_gives_in_colour_and_grey() -> None:
    cup, cat = data.coffee(), data.chelsea()
    luma = np.rint(cat @ [0.2126, 0.7152, 0.0722]).astype(np.uint8)[..., None]  # ITU-R BT.709-6, item 3.2
    hd = np.repeat(np.repeat(cup, 5, axis=0), 5, axis=1)[:1080, :1920]
    for shot, reference in ((hd, cat), (cat, hd), (luma, hd), (cup, luma), (cat[:270], cup)):
        views = [answer(wanted(picture=picture(each)), fine) for each in (shot, reference)]
        beside = Comparison(lambda found: None)
        beside.want(views[1].asked)
        assert beside.take(views[1])
        assert isinstance(views[0].found, View)
        told = match(shot, NEUTRAL, CODED, Depth.U8, distribution(reference / 255), strength=0).before
        assert beside.difference(views[0].found) == pytest.approx(told, abs=1e-3)
        beside.end()


def test_a_view_that_is_no_longer_wanted_is_not_taken_and_a_fault_is_told() -> None:
    beside = Comparison(lambda found: None)
    picture = loaded()
    first, second = wanted(NEUTRAL, picture), wanted(Correction(saturation=0.5), picture)
    beside.want(first)
    late = answer(first, fine)
    beside.want(second)
    assert not beside.take(late)
    assert beside.take(Answer(second, ValueError("no such curve")))
    assert (beside.view, beside.fault) == (None, "no such curve")
    beside.want(wanted(picture=Loaded(Path("x.png"), None, fault="cut short")))
    assert beside.fault == "cut short"
    beside.want(None)
    assert beside.fault == ""
    beside.end()
