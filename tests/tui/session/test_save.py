"""Saving: when it happens, what a full disk or another writer does to it, and that nothing is lost by either."""

import errno
import json
import os
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace
from PIL import Image

from poise.correction import Correction, Light
from poise.frames import scan
from poise.sidecar import ShotInfo, Sidecar, load, save
from poise.sidecar.decision import Decision
from poise_tui.edits import group
from poise_tui.session.save import write
from poise_tui.session.session import Session
from poise_tui.session.store import AGAIN, SOON


class Clock:
    """Seconds that pass when told to."""

    def __init__(self) -> None:
        self.now = 100.0

    def __call__(self) -> float:
        return self.now


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def session(tmp_path: Path, clock: Clock) -> Session:
    for name in ("ferry_02.png", "quay_01.png"):
        Image.new("RGB", (8, 4), (90, 100, 110)).save(tmp_path / name)
    return Session(scan([tmp_path]).shots, clock)


def path_of(session: Session) -> Path:
    return session.slot.shot.sidecar_path


def content(path: Path) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(path.read_bytes())
    return found


def another_saves(session: Session, note: str) -> Sidecar:
    """Another program reads the sidecar and saves it with a note."""
    path = path_of(session)
    read = load(path) if path.exists() else None
    return save(path, replace(read or Sidecar(shot=ShotInfo("ferry_02.png", 8, 4)), note=note), read)


def full(monkeypatch: pytest.MonkeyPatch, call: str) -> None:
    def refuse(*_: object) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, call, refuse)


def test_nudges_that_follow_within_moments_are_saved_once(session: Session, clock: Clock) -> None:
    assert (session.due(), session.unsaved) == ([], [])
    group.nudge(session, 6, +1)
    clock.now += SOON * 0.6
    group.nudge(session, 6, +1)
    assert (session.due(), session.unsaved) == ([], [0])
    clock.now += SOON * 0.6
    assert session.due() == [0]
    job = session.job(0)
    assert session.due() == []
    session.finish(write(job))
    assert (session.due(), session.unsaved, session.slot.unsaved) == ([], [], False)
    side = load(path_of(session))
    assert (side.revision, side.correction, side.shot) == (1, job.decision.correction, ShotInfo("ferry_02.png", 8, 4))
    assert side.correction.light.exposure == pytest.approx(2 / 12)


def test_a_change_while_it_is_saved_is_saved_again(session: Session, clock: Clock) -> None:
    group.nudge(session, 6, +1)
    clock.now += 1
    job = session.job(0)
    group.nudge(session, 6, +1)
    clock.now += 1
    assert session.due() == []  # one at a time
    session.finish(write(job))
    assert (session.unsaved, session.due()) == ([0], [])
    clock.now += SOON
    assert session.due() == [0]
    session.finish(write(session.job(0)))
    assert load(path_of(session)).correction == session.slot.decision.correction
    assert load(path_of(session)).revision == 2


def test_undo_while_it_is_saved_is_saved_again(session: Session, clock: Clock) -> None:
    group.nudge(session, 6, +1)
    job = session.job(0)
    session.undo()
    session.finish(write(job))
    clock.now += SOON
    assert session.due() == [0]
    assert session.save_all() == []
    assert load(path_of(session)).correction == Correction()


def test_a_change_taken_back_before_its_save_needs_none(session: Session, clock: Clock) -> None:
    group.nudge(session, 6, +1)
    session.undo()
    clock.now += 10
    assert (session.due(), session.unsaved) == ([], [])


@pytest.mark.parametrize("call", ["fsync", "replace"])
def test_a_full_disk_is_told_tried_again_and_then_saved(
    session: Session, clock: Clock, monkeypatch: pytest.MonkeyPatch, call: str
) -> None:
    group.nudge(session, 6, +1)
    session.save_all()
    group.nudge(session, 6, +1)
    before = path_of(session).read_bytes()
    with monkeypatch.context() as disk:
        full(disk, call)
        clock.now += SOON
        session.finish(write(session.job(0)))
        assert session.slot.fault is not None
        assert session.slot.fault.reason == "can't be saved: No space left on device"
        assert path_of(session).read_bytes() == before
        assert sorted(os.listdir(path_of(session).parent)) == ["ferry_02.png", "ferry_02.png.poise.json", "quay_01.png"]
        group.nudge(session, 6, +1)  # work goes on
        assert (session.unsaved, session.due()) == ([0], [])
        clock.now += AGAIN
        assert session.due() == [0]
        assert [str(fault) for fault in session.save_all()] == [str(session.slot.fault)]
    clock.now += AGAIN
    assert session.due() == [0]
    session.finish(write(session.job(0)))
    assert (session.slot.fault, session.unsaved) == (None, [])
    assert load(path_of(session)).correction.light.exposure == pytest.approx(3 / 12)


def conflicted(session: Session, clock: Clock) -> None:
    """Both this session and another program save after the same reading."""
    group.nudge(session, 6, +1)
    session.save_all()
    group.nudge(session, 6, +1)
    another_saves(session, "theirs")
    clock.now += SOON
    assert session.due() == [0]
    session.finish(write(session.job(0)))


def test_another_writers_work_is_not_overwritten(session: Session, clock: Clock) -> None:
    conflicted(session, clock)
    assert session.slot.conflict
    assert load(path_of(session)).note == "theirs"
    clock.now += 100
    assert (session.due(), session.unsaved) == ([], [0])  # it waits for a person
    (kept,) = path_of(session).parent.glob("*.conflict-*")
    assert content(kept)["correction"]["light"]["exposure"] == pytest.approx(2 / 12)
    assert len(session.save_all()) == len(session.save_all()) == 1
    assert list(path_of(session).parent.glob("*.conflict-*")) == [kept]  # put beside once, however often it is tried
    group.nudge(session, 8, +1)
    session.save_all()
    (later,) = set(path_of(session).parent.glob("*.conflict-*")) - {kept}
    assert content(later)["correction"]["saturation"] == 1.02


def test_keeping_mine_sets_theirs_aside_whole(session: Session, clock: Clock) -> None:
    conflicted(session, clock)
    theirs, mine = content(path_of(session)), session.slot.decision
    aside = session.keep_mine(session.index)
    assert aside is not None
    assert content(aside) == theirs
    assert Decision.of(load(path_of(session))) == mine
    assert (session.slot.conflict, session.slot.fault, session.unsaved) == (False, None, [])
    assert sorted(path.name for path in path_of(session).parent.glob("*.json*")) == [path_of(session).name, aside.name]
    session.undo()
    session.save_all()
    assert load(path_of(session)).correction.light.exposure == pytest.approx(1 / 12)


def test_taking_theirs_is_a_step_that_undo_goes_back_over(session: Session, clock: Clock) -> None:
    conflicted(session, clock)
    mine = session.slot.decision
    assert session.take_theirs(session.index)
    assert session.slot.decision.note == "theirs"
    assert (session.slot.conflict, session.slot.fault, session.unsaved) == (False, None, [])
    (kept,) = path_of(session).parent.glob("*.conflict-*")
    assert content(kept)["correction"]["light"]["exposure"] == pytest.approx(2 / 12)
    session.undo()
    assert session.slot.decision == mine
    assert session.save_all() == []
    assert Decision.of(load(path_of(session))) == mine


def test_keeping_mine_where_theirs_is_gone(session: Session, clock: Clock) -> None:
    group.nudge(session, 6, +1)
    session.save_all()
    path_of(session).unlink()
    group.nudge(session, 6, +1)
    assert len(session.save_all()) == 1  # gone is a change by someone else, too
    assert session.keep_mine(session.index) is None
    assert load(path_of(session)).correction == session.slot.decision.correction


def test_a_sidecar_made_invalid_by_hand_is_told_and_left_until_it_is_mended(session: Session, clock: Clock) -> None:
    group.nudge(session, 6, +1)
    session.save_all()
    good = path_of(session).read_text()
    path_of(session).write_text(good.replace('"exposure": 0.083', '"exposure": 83.'))
    bad = path_of(session).read_bytes()
    again = Session([session.slot.shot], clock)
    assert again.slot.fault is not None
    assert again.slot.fault.reason == "correction.light.exposure: Expected `float` <= 8.0"
    group.nudge(again, 8, +1)
    assert [fault.reason for fault in again.save_all()] == ["correction.light.exposure: Expected `float` <= 8.0"]
    assert path_of(again).read_bytes() == bad
    assert again.take_theirs(again.index) is False
    path_of(again).write_text(good)
    clock.now += AGAIN
    again.finish(write(again.job(0)))
    assert again.slot.conflict
    assert again.take_theirs(again.index)
    assert again.slot.decision.correction.light == Light(exposure=round(1 / 12, 12))
    again.undo()
    assert again.slot.decision.correction.saturation == 1.02


def test_keeping_mine_sets_an_invalid_sidecar_aside_byte_by_byte(session: Session) -> None:
    path_of(session).write_bytes(b'{"poise": 1, "note": "half a')
    session.reread(0)
    group.nudge(session, 8, +1)
    session.save_all()
    aside = session.keep_mine(session.index)
    assert aside is not None
    assert aside.read_bytes() == b'{"poise": 1, "note": "half a'
    assert load(path_of(session)).correction.saturation == 1.02


def test_what_a_newer_hand_wrote_into_the_sidecar_is_kept(session: Session) -> None:
    group.nudge(session, 8, +1)
    session.save_all()
    found = content(path_of(session))
    path_of(session).write_text(json.dumps({**found, "coordinator": "night"}))
    group.nudge(session, 8, +1)
    assert session.save_all() == []
    assert content(path_of(session))["coordinator"] == "night"


def test_moving_sidecars_takes_every_decision_along(session: Session, tmp_path: Path) -> None:
    first, second = (slot.shot.sidecar_path for slot in session.slots)
    group.nudge(session, 8, +1)
    session.save_all()
    other = Session([slot.shot for slot in session.slots])
    group.nudge(other, 6, +1)
    save(second, Sidecar(shot=ShotInfo("quay_01.png", 8, 4), note="not looked at yet"), None)
    old = first.read_bytes(), second.read_bytes()
    folder = tmp_path / "aside"
    other.move_sidecars(folder)
    assert other.unsaved == other.due() == [0, 1]
    assert other.save_all() == []
    moved = load(folder / first.name), load(folder / second.name)
    assert (moved[0].correction.saturation, moved[0].correction.light.exposure) == (1.02, pytest.approx(1 / 12))
    assert moved[1].note == "not looked at yet"
    assert (first.read_bytes(), second.read_bytes()) == old
    other.move_sidecars(folder)
    assert other.unsaved == []


def test_moving_sidecars_while_one_is_being_saved_saves_it_in_the_new_place(
    session: Session, clock: Clock, tmp_path: Path
) -> None:
    group.nudge(session, 8, +1)
    job = session.job(0)
    session.move_sidecars(tmp_path / "aside")
    session.finish(write(job))
    clock.now += SOON
    assert session.due() == [0]
    session.finish(write(session.job(0)))
    group.nudge(session, 8, +1)
    assert session.save_all() == []
    assert load(tmp_path / "aside" / "ferry_02.png.poise.json").correction.saturation == 1.04


def test_moving_sidecars_takes_over_what_is_there(session: Session, tmp_path: Path) -> None:
    there = tmp_path / "aside" / "ferry_02.png.poise.json"
    save(there, Sidecar(shot=ShotInfo("ferry_02.png", 8, 4), note="done yesterday"), None)
    session.move_sidecars(tmp_path / "aside")
    assert session.slot.decision.note == "done yesterday"
    group.nudge(session, 8, +1)
    assert session.save_all() == []
    assert load(there).revision == 2


def test_a_shot_whose_picture_cannot_be_read_can_still_be_held(session: Session) -> None:
    session.slot.file.write_bytes(b"not a picture")
    session.state("held", "copy it again")
    assert session.save_all() == []
    side = load(path_of(session))
    assert (side.state, side.note, side.shot.width) == ("held", "copy it again", 0)


def test_a_full_disk_in_the_middle_of_keeping_mine_loses_neither(
    session: Session, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    conflicted(session, clock)
    mine = session.slot.decision
    with monkeypatch.context() as disk:
        full(disk, "replace")
        aside = session.keep_mine(session.index)
    assert aside is not None
    assert content(aside)["note"] == "theirs"
    assert session.slot.fault is not None
    assert session.unsaved == [0]
    assert session.save_all() == []
    assert Decision.of(load(path_of(session))) == mine


def test_a_name_too_long_for_a_sidecar_costs_its_own_shot(session: Session, tmp_path: Path) -> None:
    """As it lands in the folder of an open session: 245 bytes, and NAME_MAX is 255 (limits.h)."""
    Image.new("RGB", (8, 4), (90, 100, 110)).save(tmp_path / ("a" * 241 + ".png"))
    (index,) = session.add([shot for shot in scan([tmp_path]).shots if shot.name.startswith("aaa")])
    assert index is not None
    for one in (0, index):
        session.correct(replace(session.load(one).decision.correction, saturation=0.5), index=one)
    assert "longer than the disk takes" in str(session.slots[index].fault)
    (fault,) = session.save_all()
    assert "can't be saved: its name or path is longer than the disk takes" in str(fault)
    assert load(path_of(session)).correction.saturation == 0.5
    assert session.slots[index].decision.correction.saturation == 0.5
