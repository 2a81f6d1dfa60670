"""Keying: what is added is inside, what is removed is outside, by the matte's definition written out here."""

from itertools import product

import numpy as np
import pytest
from hypothesis import event, given, settings
from hypothesis import strategies as st
from skimage import data
from thorough import many

from poise.colour.luma import to_ycbcr
from poise.correction import Interval, Matte, checked
from poise.correction.model import HueInterval
from poise.errors import PoiseError
from poise.scopes.colours import NEAR_NEUTRAL
from poise.solve import sample
from poise.solve.key import CHROMA, HUE, LUMA

FRESH = Matte(name="buoy")


def smoothstep(distance: np.ndarray, soft: float) -> np.ndarray:
    if soft == 0:
        return (distance <= 0).astype(float)
    t = np.clip(1 - distance / soft, 0, 1)
    return t * t * (3 - 2 * t)


def membership(matte: Matte, ycc: np.ndarray) -> np.ndarray:
    """1 from low to high, falling by smoothstep to 0 over `soft` beyond; hue wraps; hue x chroma x luma."""
    y, cb, cr = np.clip(ycc[:, 0], 0, 1), ycc[:, 1], ycc[:, 2]
    hue, chroma = np.degrees(np.arctan2(cr, cb)) % 360, np.clip(np.hypot(cb, cr), 0, 1)
    h = matte.hue
    span = 360 if (h.low, h.high) == (0, 360) else (h.high - h.low) % 360
    up = (hue - h.low) % 360
    beyond = np.where(up <= span, 0, np.minimum(up - span, 360 - up))
    result = smoothstep(beyond, h.soft)
    for range_, value in ((matte.chroma, chroma), (matte.luma, y)):
        result = result * smoothstep(np.maximum(range_.low - value, value - range_.high), range_.soft)
    return result


def span(hue: HueInterval) -> float:
    return 360 if (hue.low, hue.high) == (0, 360) else (hue.high - hue.low) % 360


def at(hue: float, chroma: float = 0.2, luma: float = 0.5) -> list[list[float]]:
    return [[luma, chroma * np.cos(np.radians(hue)), chroma * np.sin(np.radians(hue))]]


@st.composite
def patches(draw: st.DrawFn) -> np.ndarray:
    """A patch of one surface, or of two, with noise, as (n, 3) Y'CbCr of R'G'B' in 0..1."""
    noise = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    count = draw(st.integers(1, 300))
    colours = np.array(draw(st.lists(st.tuples(*[st.floats(0, 1)] * 3), min_size=1, max_size=2)))
    rgb = colours[noise.integers(0, len(colours), count)]
    return to_ycbcr(np.clip(rgb + noise.normal(0, draw(st.floats(0, 0.1)), (count, 3)), 0, 1))


@st.composite
def mattes(draw: st.DrawFn) -> Matte:
    def ends() -> tuple[float, float]:
        low, high = sorted((draw(st.floats(0, 1)), draw(st.floats(0, 1))))
        return low, high

    soft = st.sampled_from([0.0, 0.03, 0.2])
    return Matte(
        name="ferry",
        hue=HueInterval(draw(st.floats(0, 360)), draw(st.floats(0, 360)), draw(st.sampled_from([0.0, 10.0, 60.0]))),
        chroma=Interval(*ends(), draw(soft)),
        luma=Interval(*ends(), draw(soft)),
    )


@settings(max_examples=many(80, 300))
@given(st.one_of(st.just(FRESH), mattes()), st.lists(patches(), min_size=1, max_size=3))
def test_what_is_added_is_inside_and_stays(matte: Matte, added: list[np.ndarray]) -> None:
    start = matte
    for patch in added:
        before, matte = matte, checked(sample(matte, patch))
        coloured = np.hypot(patch[:, 1], patch[:, 2]) >= NEAR_NEUTRAL
        sure = patch[coloured] if coloured.any() else patch  # noise turns the hue of the others anywhere
        assert (membership(matte, sure) > 1 - 1e-9).mean() >= 0.95
        if before != FRESH:
            everywhere = to_ycbcr(np.array(list(product(np.linspace(0, 1, 9), repeat=3))))
            assert (membership(matte, everywhere) >= membership(before, everywhere) - 1e-9).all()
        # the same again adds nothing
        assert sample(matte, patch) == matte
    assert (matte.name, matte.inside) == (start.name, start.inside)


@settings(max_examples=many(80, 300))
@given(st.one_of(st.just(FRESH), mattes()), patches(), patches())
def test_what_is_removed_is_outside_or_refused(matte: Matte, kept: np.ndarray, taken: np.ndarray) -> None:
    keyed = sample(matte, kept) if matte == FRESH else matte
    try:
        after = checked(sample(keyed, taken, add=False))
    except PoiseError:
        # the other reasons to refuse, a fresh matte and an empty sample, can't occur here
        event("refused")
        return
    assert membership(after, np.median(taken, axis=0)[None]) < 1e-9
    everywhere = to_ycbcr(np.array(list(product(np.linspace(0, 1, 9), repeat=3))))
    assert (membership(after, everywhere) <= membership(keyed, everywhere) + 1e-9).all()
    changed = [name for name in ("hue", "chroma", "luma") if getattr(after, name) != getattr(keyed, name)]
    assert len(changed) <= 1
    if "hue" in changed:
        assert span(after.hue) >= HUE.width
    for name, grain in (("chroma", CHROMA), ("luma", LUMA)):
        if name in changed:
            assert getattr(after, name).high - getattr(after, name).low >= grain.width - 1e-9


def test_a_first_sample_is_as_narrow_as_its_surface() -> None:
    # the orange suit in skimage's astronaut
    picture = to_ycbcr(data.astronaut() / 255)
    matte = sample(FRESH, picture[300:316, 150:166].reshape(-1, 3))
    inside = membership(matte, picture.reshape(-1, 3)) > 0.5
    assert membership(matte, picture[300:316, 150:166].reshape(-1, 3)).mean() > 0.95
    assert 0.005 < inside.mean() < 0.4
    wall = picture[:16, 64:80].reshape(-1, 3)
    assert membership(matte, wall).max() < 0.01


def test_a_single_pixel_gets_the_least_width_and_softness() -> None:
    matte = sample(FRESH, at(200))
    assert span(matte.hue) == pytest.approx(HUE.width, abs=0.2)
    assert matte.chroma.high - matte.chroma.low == pytest.approx(CHROMA.width, abs=0.003)
    assert matte.luma.high - matte.luma.low == pytest.approx(LUMA.width, abs=0.003)
    assert (matte.hue.soft, matte.chroma.soft, matte.luma.soft) == (HUE.soft, CHROMA.soft, LUMA.soft)


def test_hue_widens_the_short_way_round_past_360() -> None:
    matte = sample(sample(FRESH, at(350)), at(20))
    assert (matte.hue.low, matte.hue.high) == pytest.approx((344, 20), abs=0.2)
    matte = sample(sample(FRESH, at(20)), at(350))
    assert (matte.hue.low, matte.hue.high) == pytest.approx((350, 26), abs=0.2)


def test_hues_that_meet_go_all_round() -> None:
    matte = FRESH
    for hue in range(0, 360, 20):
        matte = sample(matte, at(hue))
    assert (matte.hue.low, matte.hue.high) == pytest.approx((340, 320), abs=0.2)
    matte = sample(matte, [*at(315), *at(330), *at(345)])
    assert (matte.hue.low, matte.hue.high) == (0, 360)
    assert membership(matte, np.array([at(h)[0] for h in range(360)])).min() > 0.99


def test_a_near_neutral_sample_has_no_hue() -> None:
    wall = to_ycbcr(data.astronaut()[:16, 64:80] / 255).reshape(-1, 3)
    matte = sample(FRESH, wall)
    assert (matte.hue.low, matte.hue.high) == (0, 360)
    assert matte.chroma.low == 0
    assert matte.chroma.high <= 0.05
    assert membership(matte, np.array(at(90, 0.2, 0.67)))[0] == 0


def test_removing_narrows_from_the_nearer_end() -> None:
    keyed = Matte(name="quay", hue=HueInterval(340, 60, 5), chroma=Interval(0.1, 0.3), luma=Interval(0.4, 0.6))
    after = sample(keyed, at(50), add=False)
    assert (after.hue.low, after.hue.high) == pytest.approx((340, 45), abs=0.2)
    after = sample(keyed, at(350), add=False)
    assert (after.hue.low, after.hue.high) == pytest.approx((355, 60), abs=0.2)


def test_a_hue_that_goes_all_round_opens_at_the_sample() -> None:
    keyed = Matte(name="sky", hue=HueInterval(0, 360, 10), chroma=Interval(0.1, 0.6), luma=Interval(0, 1))
    after = sample(keyed, at(200, 0.3), add=False)
    assert (after.hue.low, after.hue.high) == pytest.approx((210, 190), abs=0.2)


def test_what_is_outside_already_changes_nothing() -> None:
    keyed = sample(FRESH, at(100))
    assert sample(keyed, at(280), add=False) == keyed


def test_never_below_the_least_width_and_never_from_nothing() -> None:
    keyed = sample(FRESH, at(100))
    with pytest.raises(PoiseError, match="least width"):
        sample(keyed, at(100), add=False)
    with pytest.raises(PoiseError, match="nothing is keyed yet"):
        sample(FRESH, at(100), add=False)
    with pytest.raises(PoiseError, match="no valid pixels"):
        sample(FRESH, [[np.nan, 0.1, 0.1]])
