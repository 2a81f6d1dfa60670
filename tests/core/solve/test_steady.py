"""A run held steady: photographs as runs of 60 frames with gains that are known, against simpler ways to do it."""

import numpy as np
import pytest
from skimage import data, exposure

from poise.colour.transfer import decode, encode
from poise.correction import CODED, Light
from poise.frames import Depth
from poise.solve.steady import Course, Tracker, gains, smooth
from poise.solve.steady_look import look

COUNT, HEIGHT, WIDTH = 60, 72, 108
PHOTOGRAPHS = {"coffee": data.coffee, "rocket": data.rocket, "astronaut": data.astronaut}
Array = np.ndarray


def windows(name: str, moves: int = 1) -> list[Array]:
    """A window that moves over a photograph, in linear light."""
    light = decode("sRGB", PHOTOGRAPHS[name]() / 255.0) * 0.7
    top, left = 150, 60
    return [light[top : top + HEIGHT, left + moves * n : left + moves * n + WIDTH].copy() for n in range(COUNT)]


def passed_by(frames: list[Array], brightness: float = 0.6) -> list[Array]:
    """A bright object a quarter as wide as the picture passes through it within 40 frames."""
    result = []
    for number, frame in enumerate(frames):
        at = (number - 10) * 4 - 27
        frame = frame.copy()
        frame[20:60, max(at, 0) : max(at + 27, 0)] = brightness
        result.append(frame)
    return result


def filmed(frames: list[Array], factors: Array, noise: float = 0.004) -> list[Array]:
    """Codes of 8 bits: light times a gain for each frame (and channel), in sRGB, with noise."""
    rng = np.random.default_rng(5)
    factors = np.broadcast_to(factors.reshape(COUNT, -1), (COUNT, 3))
    return [
        np.clip(np.rint(255 * (encode("sRGB", frame * factor) + rng.normal(0, noise, frame.shape))), 0, 255).astype(
            np.uint8
        )
        for frame, factor in zip(frames, factors, strict=True)
    ]


def course(run: list[Array]) -> Course:
    tracker = Tracker()
    for frame in run:
        tracker.add(look(frame, Light(), CODED, Depth.U8))
    return tracker.course


def steadied(run: list[Array], colour: bool = False) -> Array:
    return gains(course(run), 25, 1, colour)


def flicker(rms: float, seed: int = 3) -> Array:
    """Gains in stops whose rms is a share of the level, from frame to frame without any order."""
    values = np.random.default_rng(seed).normal(size=COUNT)
    values -= values.mean()
    return np.log2(1 + rms * values / values.std())


def quick(stops: Array) -> float:
    """Flicker: rms of each frame against the mean of the two beside it, which a smooth course has none of."""
    return float(np.sqrt(np.mean((stops[1:-1] - (stops[:-2] + stops[2:]) / 2) ** 2)))


FADE = np.log2(np.linspace(1, 0.5, COUNT))
STEP = np.where(np.arange(COUNT) < 33, 0.0, -0.5)


@pytest.mark.parametrize("rms", [0.02, 0.05])
@pytest.mark.parametrize("name", PHOTOGRAPHS)
def test_at_most_a_fifth_of_the_flicker_is_left_where_the_picture_moves_and_something_passes(
    name: str, rms: float
) -> None:
    known = flicker(rms)
    run = filmed(passed_by(windows(name)), np.exp2(known))
    left = known + steadied(run)[:, 0]
    assert quick(left) <= quick(known) / 5
    # simpler ways: the median of each frame matched to the first, and its histogram (scikit-image). What passes through
    # the picture, and what comes into it at the edge, moves both
    assert quick(left) < quick(by_median(known, run)) / 2
    assert quick(left) < quick(by_histogram(known, run)) / 2


def by_median(known: Array, run: list[Array]) -> Array:
    return known - np.log2([np.median(decode("sRGB", frame / 255.0)) for frame in run])


def by_histogram(known: Array, run: list[Array]) -> Array:
    """What is left of known gains where the light of a place that stands still is read before and after matching."""
    light = [decode("sRGB", frame / 255.0) for frame in run]
    matched = [exposure.match_histograms(frame, light[0], channel_axis=-1) for frame in light]
    gained = [np.log2(after.mean() / before.mean()) for before, after in zip(light, matched, strict=True)]
    return known + np.array(gained)


def test_a_fade_keeps_its_size_and_a_step_its_place() -> None:
    known = flicker(0.02)
    for course_, slow in (("fade", FADE), ("step", STEP), ("both", FADE + STEP)):
        left = known + slow + steadied(filmed(windows("coffee"), np.exp2(known + slow)))[:, 0]
        kept = np.median(left[-5:]) - np.median(left[:5])
        size = np.median(slow[-5:]) - np.median(slow[:5])
        assert abs(kept - size) <= 0.05 * abs(size), (course_, kept, size)
        if course_ != "fade":
            jump = np.diff(left)
            assert int(np.argmin(jump)) == 32, course_
            assert jump[32] == pytest.approx(-0.5, abs=0.05)
            left = left - slow
        assert quick(left - (slow if course_ == "fade" else 0)) <= quick(known) / 5


def test_what_passes_moves_the_level_by_at_most_a_tenth_of_what_it_moves_a_mean() -> None:
    """Noise alone, and a window that stands still: all that a level shows comes from the object."""
    still = windows("coffee", moves=0)
    run = filmed(passed_by(still, 0.9), np.ones(COUNT), noise=0.002)
    mean = np.log2([decode("sRGB", frame / 255.0).mean() for frame in run])
    level = course(run).levels[:, 0]
    assert np.ptp(level) <= np.ptp(mean) / 10
    assert np.abs(steadied(run)[:, 0]).max() <= np.ptp(mean) / 10


def test_the_balance_of_channels_is_steadied_too() -> None:
    known = np.column_stack([flicker(0.04, 1), flicker(0.02, 2), flicker(0.04, 3)])
    exposure_, red, blue = steadied(filmed(passed_by(windows("coffee")), np.exp2(known)), colour=True).T
    for channel, gain in enumerate((exposure_ + red, exposure_, exposure_ + blue)):
        assert quick(known[:, channel] + gain) <= quick(known[:, channel]) / 5


def test_a_cut_is_left_where_it_is_and_a_frame_of_something_else_is_alone() -> None:
    one, other = windows("coffee"), windows("rocket")
    found = course(filmed([*one[:20], other[0], *one[21:30], *other[30:]], np.ones(COUNT)))
    assert found.takes[:20].tolist() == [0] * 20
    assert found.takes[21:30].tolist() == [0] * 9
    assert found.alone.tolist() == [20]
    assert len(set(found.takes[30:])) == 1
    assert found.takes[30] != 0


def test_a_smooth_course_is_left_as_it_is() -> None:
    """Half of a wave of the period stays, by the response of the smoother: 1 / (1 + weight (2 sin(w / 2))^4)."""
    wave = np.sin(2 * np.pi * np.arange(400) / 25)[:, None]
    middle = slice(100, 300)
    assert np.ptp(smooth(wave, 25)[middle]) / np.ptp(wave[middle]) == pytest.approx(0.5, abs=0.02)
    slow = np.sin(2 * np.pi * np.arange(400) / 100)[:, None]
    assert np.ptp(smooth(slow, 25)[middle]) / np.ptp(slow[middle]) > 0.98
