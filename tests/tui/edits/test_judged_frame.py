"""The frame that a sequence is judged on: pinned, undone, kept, and found again."""

import json
from pathlib import Path

import pytest
from msgspec.structs import replace
from PIL import Image

from poise.errors import PoiseError
from poise.frames import scan
from poise.sidecar import Sidecar, load, save
from poise_tui.edits import group
from poise_tui.edits.judged_frame import label, pin, to_next
from poise_tui.session.session import Session


@pytest.fixture
def pier(tmp_path: Path) -> Path:
    for name in ("ferry.png", "pier.1001.png", "pier.1002.png", "pier.1004.png"):
        Image.new("RGB", (8, 4), (90, 100, 110)).save(tmp_path / name)
    return tmp_path


def opened(folder: Path) -> Session:
    session = Session(scan([folder]).shots)
    session.go(1)
    return session


def test_a_pinned_frame_is_undone_saved_and_opened_again(pier: Path) -> None:
    session = opened(pier)
    assert (session.slot.frame, label(session.slot)) == (0, "frame 1001 of 1001-1004, judged")
    session.frame(+2)
    assert label(session.slot) == "frame 1004 of 1001-1004 @1001"
    assert pin(session) == "judged by frame 1004 from now on; undo takes it back"
    assert pin(session) == "already judged by frame 1004"
    assert (label(session.slot), session.slot.title) == ("frame 1004 of 1001-1004, judged", "pier.####.png @1004")
    session.undo()
    assert (session.slot.frame, label(session.slot)) == (2, "frame 1004 of 1001-1004 @1001")
    session.redo()
    assert session.save_all() == []
    path = session.slot.shot.sidecar_path
    assert json.loads(path.read_text())["judged"] == 1004
    again = opened(pier)
    assert (again.slot.file.name, again.slot.unsaved) == ("pier.1004.png", False)


def test_a_nudge_keeps_what_was_pinned_and_what_it_does_not_know(pier: Path) -> None:
    path = pier / "pier.####.png.poise.json"
    path.write_text('{"poise": 1, "judged": 1002, "coordinator": "night"}')
    session = opened(pier)
    group.nudge(session, 3, +1)
    session.save_all()
    kept = json.loads(path.read_text())
    assert (kept["judged"], kept["coordinator"]) == (1002, "night")


def test_a_still_is_not_pinned(pier: Path) -> None:
    session = Session(scan([pier]).shots)
    with pytest.raises(PoiseError, match="this shot is a still"):
        pin(session)
    assert (label(session.slot), session.slot.unsaved) == ("", False)


def test_a_frame_that_is_gone_is_told_and_the_nearest_stands_in(pier: Path) -> None:
    """The number stays in the sidecar: frames may be on their way."""
    session = opened(pier)
    save(session.slot.shot.sidecar_path, Sidecar(judged=1003), None)
    again = opened(pier)
    assert (again.slot.file.name, label(again.slot)) == ("pier.1002.png", "frame 1002 of 1001-1004 @1003 gone")
    group.nudge(again, 3, +1)
    again.save_all()
    assert load(again.slot.shot.sidecar_path).judged == 1003
    again.frame(+1)
    assert label(again.slot) == "frame 1004 of 1001-1004 @1002"


def test_someone_elses_pin_is_taken_over_without_moving_the_picture(pier: Path) -> None:
    session = opened(pier)
    group.nudge(session, 3, +1)
    session.save_all()
    there = session.slot.sidecar
    assert there is not None
    save(session.slot.shot.sidecar_path, replace(there, judged=1004), there)
    assert session.reread(session.index)
    assert label(session.slot) == "frame 1001 of 1001-1004 @1004"
    session.undo()
    assert session.slot.decision.judged is None


def test_jumps_lead_from_frame_to_frame_that_stands_out(pier: Path) -> None:
    session = opened(pier)
    slot = session.slot
    with pytest.raises(PoiseError, match="no frame jumps"):
        to_next(slot, +1)
    slot.abrupt = (1002, 1004)
    assert to_next(slot, +1) == 1
    slot.frame = 1
    assert to_next(slot, +1) == 1
    with pytest.raises(PoiseError, match="no earlier frame jumps"):
        to_next(slot, -1)
    slot.frame = 2
    assert to_next(slot, -1) == -1
    with pytest.raises(PoiseError, match="no further frame jumps"):
        to_next(slot, +1)
    with pytest.raises(PoiseError, match="this shot is a still"):
        to_next(session.slots[0], +1)
