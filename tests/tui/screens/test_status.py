"""The status line tells what nudges move, in each mode."""

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from poise.correction import Correction, Matte, Zone
from poise.frames import Depth, scan
from poise_tui.draw.panes.status import Status
from poise_tui.edits import group
from poise_tui.measure.loaded import Loaded
from poise_tui.screens.status import status
from poise_tui.session.session import Session


class Crew:
    """A coordinator that has read one picture, or none."""

    def __init__(self, found: Loaded | None = None) -> None:
        self._found = found
        self.pictures = self

    def shown(self) -> Loaded | None:
        return self._found


@pytest.fixture
def session(tmp_path: Path) -> Session:
    for name in ("ferry.png", "pier.0101.png", "pier.0102.png"):
        Image.new("RGB", (8, 4)).save(tmp_path / name)
    return Session(scan([tmp_path]).shots)


def told(session: Session, found: Loaded | None = None) -> Status:
    return status(session, Crew(found))  # type: ignore[arg-type]


def test_what_nudges_move_is_a_zone_a_curve_or_a_matte(session: Session) -> None:
    session.hold(zone=Zone.SHADOWS)
    assert told(session).acts_on == Zone.SHADOWS.value
    session.work("pick")
    assert told(session).acts_on == Zone.SHADOWS.value
    session.work("curve")
    session.hold(channel="blue")
    assert told(session).acts_on == "blue"
    session.work("matte")
    assert "matte" in told(session).acts_on
    session.correct(Correction(mattes=(Matte("sail"), Matte("buoy"))))
    session.hold(matte=1)
    assert told(session).acts_on == "buoy"
    session.next_bank()
    assert told(session).acts_on == "buoy"
    session.next_bank()
    assert told(session).acts_on == f"buoy {Zone.SHADOWS.value}"


def test_banks_are_counted_where_there_are_more_than_one(session: Session) -> None:
    assert (told(session).desk, told(session).acts_on) == ("desk 1/2", "whole trace")
    session.next_bank()
    assert (told(session).desk, told(session).acts_on) == ("levels 2/2", "")  # a zone does nothing here
    session.work("matte")
    assert told(session).desk.endswith(" 1/3")
    session.work("curve")
    assert "/" not in told(session).desk


def test_before_is_said_only_while_it_is_shown_and_each_table_has_its_own(session: Session) -> None:
    said = set()
    for mode in ("balance", "pick", "matte", "curve"):
        session.hold(mode=mode)
        session.before = False
        assert told(session).before == ""
        session.before = True
        said.add(told(session).before)
    assert len(said) == 3
    assert "" not in said


def test_undo_marks_frames_and_the_picture(session: Session) -> None:
    group.nudge(session, 0, +1)
    group.nudge(session, 0, +1)
    session.undo()
    session.mark()
    found = told(session)
    assert (found.undo, found.redo, found.marked, found.frame, found.about) == (1, 1, 1, "", "ferry.png")
    session.go(1)
    session.frame(+1)
    found = told(session, Loaded(Path("pier.0102.png"), None, fault="it broke"))
    assert (found.frame, found.about) == ("frame 102 of 101-102 @101", "pier.0102.png")
    small = np.zeros((4, 8, 3), np.float16)
    found = told(session, Loaded(Path("pier.0102.png"), None, small, Depth.HALF, 1920, 1080))
    assert found.about == "pier.0102.png 1920 x 1080 16 bit float"


def test_a_save_on_its_way_is_told_and_so_is_one_that_failed(session: Session) -> None:
    assert (told(session).save, told(session).safe) == ("unchanged", True)
    group.nudge(session, 0, +1)
    assert (told(session).save, told(session).safe) == ("saving", True)
    session.slot.shot.sidecar_path.mkdir()  # a folder stands where the sidecar should be
    assert session.save_all() != []
    found = told(session)
    assert found.save.startswith("NOT SAVED: ferry.png")
    assert not found.safe
    session.slot.shot.sidecar_path.rmdir()
    assert session.save_all() == []
    assert (told(session).save, told(session).safe) == ("saved", True)
