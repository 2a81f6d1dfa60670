"""Stamps: a picture or a sidecar that somebody else changed is seen, our own save is not."""

import os
from pathlib import Path

import pytest
from PIL import Image

from poise.frames import scan
from poise.stamp import Stamp
from poise_tui.edits import group
from poise_tui.session.session import Session
from poise_tui.session.shot_state import ShotState
from poise_tui.workers.file_watcher import FileState, look


def looked(slot: ShotState) -> FileState:
    return look(0, slot.file, slot.shot, slot.stamp)


@pytest.fixture
def slot(tmp_path: Path) -> ShotState:
    Image.new("RGB", (8, 4), (90, 100, 110)).save(tmp_path / "quay_01.png")
    return Session(scan([tmp_path]).shots).slot


def test_nothing_changed(slot: ShotState) -> None:
    assert looked(slot) == FileState(0, slot.file, Stamp.of(slot.file), None, None)
    assert looked(slot).picture is not None


def test_a_picture_that_was_replaced_or_is_gone(slot: ShotState) -> None:
    before = looked(slot).picture
    Image.new("RGB", (16, 4)).save(slot.file)
    assert looked(slot).picture not in (before, None)
    os.unlink(slot.file)
    assert looked(slot).picture is None


def test_a_sidecar_is_told_once_for_each_time(slot: ShotState) -> None:
    for text in ("{}", '{"poise": 1}'):
        slot.shot.sidecar_path.write_text(text)
        seen = looked(slot).sidecar
        assert seen is not None
        assert (seen.fault is not None) == (text == "{}")
        slot.stamp = seen.stamp
        assert looked(slot).sidecar is None


def test_a_save_of_ours_is_no_change_by_others(tmp_path: Path, slot: ShotState) -> None:
    session = Session(scan([tmp_path]).shots)
    group.nudge(session, 8, +1)
    assert session.save_all() == []
    assert session.slot.stamp is not None
    assert looked(session.slot).sidecar is None
