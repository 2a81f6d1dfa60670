"""The run of a sequence under a correction, from samples: against the formula of ASC CDL and numpy's percentiles."""

from pathlib import Path

import numpy as np
import pytest
from skimage import data

from poise.correction import CODED, NEUTRAL, Balance, Correction
from poise.errors import PoiseError
from poise.frames import Depth, Shot
from poise.sidecar.decision import Decision
from poise_tui.measure.book import Book
from poise_tui.measure.sample import Sample
from poise_tui.measure.sequence import run

COFFEE = data.coffee()[::8, ::8]  # Pikolo Espresso Bar, skimage.data
BRIGHTER = Correction(balance=Balance(slope=(1.2, 1.2, 1.2), offset=(0.05, 0.05, 0.05)))


def sampled(pixels: np.ndarray | None, place: int) -> Sample:
    return Sample(Path(f"pier.{1001 + place}.png"), None, pixels, Depth.U8, 600, 400, False)


def book(count: int, grey: bool = False, broken: tuple[int, ...] = (), known: int | None = None) -> Book:
    files = tuple(Path(f"pier.{1001 + place}.png") for place in range(count))
    shot = Shot("pier.####.png", Path(), files, True, tuple(range(1001, 1001 + count)))
    samples = {}
    for place in range(count if known is None else known):
        pixels = np.clip(COFFEE.astype(np.int16) // 2 + 2 * place, 0, 255).astype(np.uint8)
        samples[place] = sampled(None if place in broken else pixels[..., :1] if grey else pixels, place)
    return Book(shot, tuple(range(count)), samples)


def test_the_levels_are_those_of_the_corrected_pixels() -> None:
    """ASC CDL v1.2: out = in * slope + offset, clamped; percentiles by numpy."""
    found = run(book(5), Decision(BRIGHTER), CODED)
    for place in range(5):
        code = np.clip(COFFEE.astype(np.float64) // 2 + 2 * place, 0, 255) / 255
        red = np.clip(code[..., 0] * 1.2 + 0.05, 0, 1)
        expected = 100 * np.percentile(red, (0.5, 50, 99.5))
        assert found.course.levels[place, 1] == pytest.approx(expected, abs=0.25)  # work code has 8 bits here
    assert found.drift is not None
    assert found.drift.drift[1, 1] == pytest.approx(100 * 8 / 255 * 1.2, abs=0.5)
    assert (found.numbers, found.whole, found.broken, found.abrupt) == ((1001, 1005), True, (), ())


def test_what_was_measured_is_not_measured_again() -> None:
    whole = book(6)
    first = run(Book(whole.shot, whole.places, {0: whole.samples[0], 5: whole.samples[5]}), Decision(NEUTRAL), CODED)
    assert first.words[0] == "2 of 6 frames read"
    assert not any("flicker" in word for word in first.words)
    second = run(whole, Decision(NEUTRAL), CODED, first)
    assert second.levels[whole.samples[5]] is first.levels[whole.samples[5]]
    assert np.array_equal(second.course.levels, run(whole, Decision(NEUTRAL), CODED).course.levels)


def test_broken_frames_are_named() -> None:
    found = run(book(9, broken=(1, 2, 3, 4)), Decision(NEUTRAL), CODED)
    assert found.broken == (1002, 1003, 1004, 1005)
    assert found.words[0] == "can't be read: 1002, 1003, 1004 and 1 more"
    assert found.drift is not None
    assert found.drift.frames == 5


def test_two_frames_and_none() -> None:
    found = run(book(2), Decision(NEUTRAL), CODED)
    assert found.drift is not None
    assert found.words[-1] == "flicker shows from three frames on"
    nothing = run(book(2, known=0), Decision(NEUTRAL), CODED)
    assert (nothing.drift, nothing.words) == (None, ("0 of 2 frames read",))


def test_a_correction_that_grey_frames_do_not_take_is_a_fault_unless_others_take_it() -> None:
    warm = Correction(balance=Balance(slope=(1.1, 1, 1)))
    with pytest.raises(PoiseError, match="grey"):
        run(book(3, grey=True), Decision(warm), CODED)
    mixed = book(4)
    mixed.samples[2] = book(4, grey=True).samples[2]
    found = run(mixed, Decision(warm), CODED)
    assert found.course.known.tolist() == [True, True, False, True]


def test_a_long_sequence_is_said_to_be_sampled() -> None:
    short = book(4)
    files = short.shot.files * 3
    long = Shot("pier.####.png", Path(), files, True, tuple(range(1001, 1013)))
    places = (0, 4, 7, 11)
    samples = dict(zip(places, short.samples.values(), strict=True))
    found = run(Book(long, places, samples), Decision(NEUTRAL), CODED)
    assert found.words[0] == "4 of 12 frames; flicker between them is not measured"
    assert found.course.numbers.tolist() == [1001, 1005, 1008, 1012]
