"""What the current shot is compared with, how a wipe goes through its kinds, and what becomes the reference."""

from pathlib import Path

import numpy as np
import pytest
from msgspec.structs import replace
from PIL import Image

from poise.correction import NEUTRAL, Light
from poise.errors import FileError
from poise.frames import scan
from poise.sidecar import Sidecar, save
from poise_tui.compare import reference, wipe
from poise_tui.compare.target import other
from poise_tui.session.session import Session

BRIGHT = replace(NEUTRAL, light=Light(exposure=1.0))


@pytest.fixture
def session(tmp_path: Path) -> Session:
    day = tmp_path / "day"
    day.mkdir()
    for name in ("ferry.png", "pier.0101.png", "pier.0102.png", "quay.png"):
        Image.fromarray(np.full((9, 16, 3), 90, np.uint8)).save(day / name)
    return Session(scan([day]).shots)


def test_without_a_reference_nothing_is_compared(session: Session) -> None:
    assert other(session) is None


def test_a_reference_is_a_ghost_for_other_shots_under_its_present_correction(session: Session) -> None:
    assert "ferry.png is the reference" in reference.take(session)
    assert other(session) is None
    session.go(2)
    session.correct(BRIGHT, index=0)
    found = other(session)
    assert found is not None
    assert (found.name, found.split, found.correction) == ("ferry.png", None, BRIGHT)
    session.work("matte")
    assert other(session) is None
    session.go(0)
    assert "no longer" in reference.take(session)
    assert session.reference is None


def test_a_wipe_goes_through_what_there_is_to_compare_with(session: Session) -> None:
    session.go(1)
    session.correct(BRIGHT)
    assert wipe.cycle(session) == "wipe: before on the left, this shot on the right"
    found = other(session)
    assert found is not None
    assert (found.correction, found.split, found.slot) == (NEUTRAL, 0.5, session.slot)
    assert "ferry.png" in wipe.cycle(session)  # there is no reference: the neighbour
    assert wipe.cycle(session) == "no wipe"
    session.reference = session.slots[2]
    wipe.cycle(session)
    assert "quay.png" in wipe.cycle(session)
    assert session.hand.wipe == "reference"
    session.go(2)
    assert other(session) is None  # the reference is not compared with itself


def test_the_first_shots_neighbour_is_the_second_and_a_lone_shot_has_none(session: Session) -> None:
    wipe.cycle(session)
    assert "pier.####.png" in wipe.cycle(session)
    alone = Session([session.slots[0].shot])
    wipe.cycle(alone)
    assert wipe.cycle(alone) == "no wipe"


def test_a_wipe_moves_by_the_step_and_stops_at_the_edges(session: Session) -> None:
    assert wipe.move(session, +1)
    assert session.hand.split == pytest.approx(0.525)
    session.hold(size=5, split=0.5)
    assert [wipe.move(session, -1) for _ in range(4)] == [True, True, True, False]
    assert session.hand.split == 0


def test_a_still_from_elsewhere_comes_with_its_sidecar(session: Session, tmp_path: Path) -> None:
    still = tmp_path / "lighthouse.png"
    Image.fromarray(np.full((9, 16, 3), 120, np.uint8)).save(still)
    save(scan([still]).shots[0].sidecar_path, Sidecar(correction=BRIGHT), None)
    reference.outside(session, still)
    found = other(session)
    assert found is not None
    assert (found.name, found.correction) == ("lighthouse.png", BRIGHT)
    assert reference.drop(session) == "lighthouse.png is no longer the reference"


def test_a_frame_of_the_session_named_by_its_file_is_its_shot(session: Session) -> None:
    reference.outside(session, session.slots[1].shot.files[1])
    assert session.reference is session.slots[1]
    assert session.slots[1].frame == 1


@pytest.mark.parametrize("content", [None, b"fog"])
def test_what_is_no_picture_becomes_no_reference(session: Session, tmp_path: Path, content: bytes | None) -> None:
    there = tmp_path / "fog.png"
    if content:
        there.write_bytes(content)
    with pytest.raises(FileError, match=r"fog\.png"):
        reference.outside(session, there)
    assert session.reference is None
