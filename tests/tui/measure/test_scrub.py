"""What stays on screen while a frame of a sequence is read."""

from pathlib import Path

import numpy as np

from poise.frames import Shot
from poise_tui.edits.judged_frame import label
from poise_tui.measure.loaded import Loaded
from poise_tui.measure.scrub import Scrubbed
from poise_tui.session.shot_state import ShotState

PIER = ShotState(
    Shot(
        "pier.####.png", Path(), tuple(Path(f"pier.{n}.png") for n in range(1001, 1006)), True, tuple(range(1001, 1006))
    )
)
TIDE = ShotState(Shot("tide.####.png", Path(), (Path("tide.0001.png"), Path("tide.0002.png")), True, (1, 2)))
QUAY = ShotState(Shot("quay.png", Path(), (Path("quay.png"),), False))
BUOY = ShotState(Shot("buoy.png", Path(), (Path("buoy.png"),), False))


def read(name: str, broken: bool = False) -> Loaded:
    return Loaded(Path(name), None, None if broken else np.zeros((2, 2, 3), np.uint8))


def test_the_last_frame_stays_until_the_next_is_there() -> None:
    scrubbed = Scrubbed()
    first, third = read("pier.1001.png"), read("pier.1003.png")
    assert scrubbed.shown(PIER, first) is first
    assert scrubbed.shown(PIER, None) is first
    assert scrubbed.took(PIER, third, None)  # passed meanwhile by a key that is held down
    assert scrubbed.shown(PIER, None) is third
    assert not scrubbed.took(PIER, read("pier.1005.png"), third)  # read ahead, not asked for
    assert scrubbed.shown(PIER, None) is third


def test_another_shot_never_stays() -> None:
    scrubbed = Scrubbed()
    scrubbed.shown(PIER, read("pier.1001.png"))
    assert scrubbed.shown(TIDE, None) is None
    assert not scrubbed.took(TIDE, read("pier.1001.png"), None)
    assert scrubbed.shown(PIER, None) is None
    scrubbed.shown(QUAY, read("quay.png"))
    assert scrubbed.shown(BUOY, None) is None


def test_a_broken_frame_does_not_stay() -> None:
    scrubbed = Scrubbed()
    broken = read("pier.1002.png", broken=True)
    assert scrubbed.shown(PIER, broken) is broken
    assert scrubbed.shown(PIER, None) is None
    assert not scrubbed.took(PIER, broken, None)


def test_the_status_tells_which_frame_is_seen() -> None:
    PIER.frame = 4
    assert label(PIER, Path("pier.1002.png")) == "frame 1002 > 1005 of 1001-1005"
    assert label(PIER, Path("pier.1005.png")) == "frame 1005 of 1001-1005 @1001"
    assert label(PIER, Path("quay.png")) == "frame 1005 of 1001-1005 @1001"
