"""The keeper: what is due reaches the disk, and a fault is told once until it is over."""

import errno
import os
from pathlib import Path
from threading import Event

import pytest
from PIL import Image

from poise.frames import scan
from poise.sidecar import ShotInfo, Sidecar, load, save
from poise_tui.edits import group
from poise_tui.session.session import Session
from poise_tui.workers.save_queue import CONFLICT, SaveQueue


class Clock:
    def __init__(self) -> None:
        self.now = 100.0

    def __call__(self) -> float:
        return self.now


class Kept:
    """A session, its keeper, and what it said."""

    def __init__(self, folder: Path) -> None:
        Image.new("RGB", (8, 4), (90, 100, 110)).save(folder / "quay_01.png")
        self.clock, self.said, self.saved = Clock(), list[str](), Event()
        self.session = Session(scan([folder]).shots, self.clock)
        self.keeper = SaveQueue(self.session, self.saved.set, lambda text, warning: self.said.append(text))

    def nudge_and_wait(self) -> None:
        group.nudge(self.session, 6, +1)
        self.again()

    def again(self) -> None:
        self.saved.clear()
        self.clock.now += 60
        self.keeper.tick()
        assert self.saved.wait(5)
        self.keeper.take()


@pytest.fixture
def kept(tmp_path: Path) -> Kept:
    return Kept(tmp_path)


def test_what_is_due_is_on_disk(kept: Kept) -> None:
    kept.nudge_and_wait()
    assert load(kept.session.slot.shot.sidecar_path).correction == kept.session.slot.decision.correction
    assert kept.said == []


def test_a_fault_is_told_once_and_anew_after_it_was_over(kept: Kept, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    for round_ in (1, 2):
        with monkeypatch.context() as broken:
            broken.setattr(os, "replace", full)
            kept.nudge_and_wait()
            kept.again()
        assert len(kept.said) == round_
        assert "No space left on device" in kept.said[-1]
        kept.again()
        assert not kept.session.slot.unsaved


def test_a_conflict_says_what_to_do(kept: Kept) -> None:
    kept.nudge_and_wait()
    path = kept.session.slot.shot.sidecar_path
    save(path, Sidecar(shot=ShotInfo("quay_01.png", 8, 4), note="the coordinator's"), load(path))
    kept.nudge_and_wait()
    assert kept.said == [CONFLICT]
    assert load(path).note == "the coordinator's"


def test_closing_writes_what_is_left_and_it_can_go_on_after_all(kept: Kept) -> None:
    group.nudge(kept.session, 6, +1)
    assert kept.keeper.close() == []
    kept.keeper.reopen()
    kept.nudge_and_wait()
    assert load(kept.session.slot.shot.sidecar_path).correction == kept.session.slot.decision.correction
