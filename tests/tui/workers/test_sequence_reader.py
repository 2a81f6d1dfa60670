"""Sketches of a sequence's frames: which are read, in which order, and what is kept of them."""

import time
from collections.abc import Callable, Iterator
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from poise.frames import Shot, scan
from poise_tui.workers.loader import Loader
from poise_tui.workers.sequence_reader import BYTES, MOST, SequenceReader, chosen, coarse_to_fine


@pytest.fixture
def loader() -> Iterator[Loader]:
    made = Loader(lambda loaded: None)
    yield made
    made.end()


@pytest.fixture
def pier(tmp_path: Path) -> Shot:
    """Seven frames, the fourth damaged."""
    for place in range(7):
        Image.new("RGB", (160, 90), (40 + place, 60, 80)).save(tmp_path / f"pier.{1001 + place}.png")
    (tmp_path / "pier.1004.png").write_bytes(b"\x89PNG\r\n\x1a\n")
    return scan([tmp_path]).shots[0]


def until(true: Callable[[], bool]) -> None:
    for _ in range(500):
        if true():
            return
        time.sleep(0.01)
    raise AssertionError("it never came")


def whole(sketching: SequenceReader) -> bool:
    sketching.take()
    book = sketching.book
    return book is not None and book.whole


@pytest.mark.parametrize("count", [0, 1, 2, 3, 17, 48, 512])
def test_every_frame_is_read_once_the_ends_first(count: int) -> None:
    order = coarse_to_fine(count)
    assert sorted(order) == list(range(count))
    assert set(order[:2]) == {0, count - 1} if count else order == []


def test_after_a_few_frames_no_gap_is_wide() -> None:
    seen = sorted(coarse_to_fine(48)[:5])
    assert max(b - a for a, b in pairwise(seen)) <= 16


def test_of_five_thousand_frames_512_are_read_evenly() -> None:
    places = chosen(5000)
    gaps = np.diff(places)
    assert (len(places), places[0], places[-1], gaps.min(), gaps.max()) == (MOST, 0, 4999, 9, 10)
    assert chosen(MOST) == tuple(range(MOST))


def test_a_broken_frame_is_told_and_the_others_are_sketched(loader: Loader, pier: Shot) -> None:
    sketching = SequenceReader(loader)
    sketching.want(pier)
    assert sketching.reading
    until(lambda: whole(sketching))
    assert not sketching.reading
    book = sketching.book
    assert book is not None
    assert [book.sketches[place].pixels is None for place in range(7)] == [place == 3 for place in range(7)]
    pixels = book.sketches[5].pixels
    assert pixels is not None
    assert (pixels[..., 0] == 45).all()
    assert pixels.nbytes <= BYTES


def test_a_pause_keeps_what_is_there_and_another_shot_forgets_it(loader: Loader, pier: Shot, tmp_path: Path) -> None:
    for number in (1, 2):
        Image.new("RGB", (8, 4)).save(tmp_path / f"tide.000{number}.png")
    sketching = SequenceReader(loader)
    sketching.want(pier)
    until(lambda: sketching.take())
    sketching.want(None)
    assert not sketching.reading
    book = sketching.book
    assert book is not None
    held = len(book.sketches)
    assert held > 0
    sketching.want(pier)
    until(lambda: whole(sketching))
    tide = scan([tmp_path]).shots[1]
    sketching.want(tide)
    assert sketching.book is not None
    assert sketching.book.sketches == {}
    until(lambda: whole(sketching))


def test_a_frame_that_was_replaced_is_read_again(loader: Loader, pier: Shot) -> None:
    sketching = SequenceReader(loader)
    sketching.want(pier)
    until(lambda: whole(sketching))
    Image.new("RGB", (160, 90), (200, 60, 80)).save(pier.files[3])
    sketching.renew(pier.files[3])
    sketching.renew(Path("quay_02.png"))  # of another shot
    sketching.want(pier)
    until(lambda: whole(sketching))
    book = sketching.book
    assert book is not None
    pixels = book.sketches[3].pixels
    assert pixels is not None
    assert pixels[0, 0, 0] == 200
