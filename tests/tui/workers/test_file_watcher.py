"""Stamps: a picture or a sidecar that somebody else changed is seen, our own save is not."""

import os
from pathlib import Path

import pytest
from PIL import Image

from poise.frames import scan
from poise_tui.session.session import Session
from poise_tui.session.shot_state import Slot
from poise_tui.workers.file_watcher import FileWatcher


@pytest.fixture
def slot(tmp_path: Path) -> Slot:
    Image.new("RGB", (8, 4), (90, 100, 110)).save(tmp_path / "quay_01.png")
    return Session(scan([tmp_path]).shots).slot


def test_nothing_changed(slot: Slot) -> None:
    stamps = FileWatcher()
    stamps.take(slot)
    assert not stamps.other_picture(slot)
    assert not stamps.other_sidecar(slot)


def test_a_picture_that_was_replaced_or_is_gone(slot: Slot) -> None:
    stamps = FileWatcher()
    stamps.take(slot)
    Image.new("RGB", (16, 4)).save(slot.file)
    assert stamps.other_picture(slot)
    stamps.take(slot)
    os.unlink(slot.file)
    assert stamps.other_picture(slot)
    stamps.take(slot)
    assert stamps.picture is None


def test_a_sidecar_is_told_once_for_each_time(slot: Slot) -> None:
    stamps = FileWatcher()
    stamps.take(slot)
    for text in ("{}", '{"poise": 1}'):
        slot.shot.sidecar_path.write_text(text)
        assert stamps.other_sidecar(slot)
        assert not stamps.other_sidecar(slot)
