"""The survey: every shot once, the nearest first, only in spare time, and kept up with decisions and files."""

import os
import threading
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from msgspec.structs import replace
from PIL import Image
from sixty import reel as demo
from until import until

from poise.correction import NEUTRAL, Levels, Light
from poise.frames import Frame, read, scan
from poise_tui.edits import judged_frame
from poise_tui.session.session import Session
from poise_tui.workers import loader
from poise_tui.workers.loader import Loader
from poise_tui.workers.survey import AT_ONCE, MEMORY, Survey


class Office:
    """A session with its loader and survey, and the shots about which something was found."""

    def __init__(self, folder: Path) -> None:
        self.found: list[int] = []
        self.session = Session(scan([folder]).shots)
        self.loader = Loader(lambda loaded: None)
        self.survey = Survey(self.session, self.loader, self.found.append)

    def until(self, done: Callable[[], bool], free: bool = True, near: bool = False) -> None:
        def ticked() -> bool:
            self.survey.tick(free, near)
            return done()

        until(lambda: done() or ticked())

    def wait(self, free: bool = True) -> None:
        """A moment in which nothing should happen."""
        for _ in range(20):
            self.survey.tick(free, near=False)
            time.sleep(0.001)

    def settled(self) -> bool:
        return all(self.survey.readings(index) for index in range(len(self.session.slots)))

    def end(self) -> None:
        self.survey.end()
        self.loader.end()


def pictures(folder: Path, count: int) -> list[Path]:
    files = [folder / f"quay_{number:04}a.png" for number in range(count)]
    for number, file in enumerate(files):
        Image.new("RGB", (8, 6), (number % 200, 100, 110)).save(file)
    return files


@pytest.fixture
def office(tmp_path: Path) -> Office:
    pictures(tmp_path, 12)
    return Office(tmp_path)


class Reading:
    """Reads for the loader, and remembers what, and how many at a time."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, held: str = "") -> None:
        self.names: list[str] = []
        self.most = self._now = 0
        self.begun, self.go = threading.Event(), threading.Event()
        self._held = held
        monkeypatch.setattr(loader, "read", self)

    def __call__(self, file: Path) -> Frame:
        self.names.append(file.name)
        self._now += 1
        self.most = max(self.most, self._now)
        if self._held in file.name and self._held:
            self.begun.set()
            assert self.go.wait(20)
        frame = read(file)
        self._now -= 1
        return frame


def test_every_shot_is_read_once_one_at_a_time_the_nearest_first(
    office: Office, monkeypatch: pytest.MonkeyPatch
) -> None:
    reading = Reading(monkeypatch)
    office.session.go(5)
    assert (office.survey.measured, office.survey.readings(5)) == (0, None)
    office.until(office.settled)
    office.wait()
    office.end()
    order = [int(name[5:9]) for name in reading.names]
    assert order == [5, 6, 4, 7, 3, 8, 2, 9, 1, 10, 0, 11]
    assert (reading.most, office.loader.held) == (1, 0)
    assert office.survey.measured == 12
    assert {*office.found} == {*range(12)}
    for index in range(12):
        found = office.survey.readings(index)
        assert found is not None
        assert found.after.red.median == pytest.approx(100 * index / 255)
    figures = office.survey.figures(before=False)
    assert figures.shape == (12, 15)
    assert figures[:, 4].tolist() == pytest.approx([100 * index / 255 for index in range(12)])  # middle of red


def test_nothing_is_read_while_keys_are_pressed_and_what_waits_is_given_up(
    office: Office, monkeypatch: pytest.MonkeyPatch
) -> None:
    reading = Reading(monkeypatch, held="0001a")
    office.wait(free=False)
    assert reading.names == []
    office.until(reading.begun.is_set)
    office.survey.pause()
    reading.go.set()
    office.until(lambda: office.survey.measured == 2, free=False, near=True)
    office.wait(free=False)
    assert len(reading.names) == 2
    office.until(office.settled)
    assert sorted(reading.names) == [slot.file.name for slot in office.session.slots]
    office.end()


def test_what_the_desk_wants_goes_before_and_needs_no_second_reading(
    office: Office, monkeypatch: pytest.MonkeyPatch
) -> None:
    reading = Reading(monkeypatch, held="0000a")
    office.until(reading.begun.is_set)
    wanted = [office.session.slots[index].file for index in (7, 8)]
    office.loader.want(wanted)
    reading.go.set()
    office.until(office.settled)
    office.end()
    assert {*reading.names[1:3]} == {file.name for file in wanted}
    assert len(reading.names) == 12


def test_a_decision_is_measured_without_reading_and_undo_brings_the_figures_back(
    office: Office, monkeypatch: pytest.MonkeyPatch
) -> None:
    office.until(office.settled)
    reading = Reading(monkeypatch)
    survey, session = office.survey, office.session
    first, version = survey.readings(3), survey.version
    session.go(3)
    session.correct(replace(NEUTRAL, levels=Levels(0, 0.5)))
    survey.renew(3)
    after = survey.readings(3)
    assert after is not None
    assert after.after.green.median == pytest.approx(100 * 200 / 255, abs=0.3)
    assert after.before.green.median == pytest.approx(100 * 100 / 255)
    assert survey.version > version
    assert survey.figures(before=True)[3, 7] == pytest.approx(100 * 100 / 255)
    # another shot, and in another thread
    session.correct(replace(NEUTRAL, levels=Levels(0, 0.5)), index=9)
    session.correct(replace(NEUTRAL, light=Light(1.0)), index=10)
    office.until(lambda: survey.figures(before=False)[10, 7] > 50, free=False, near=True)
    assert survey.figures(before=False)[9, 7] == pytest.approx(100 * 200 / 255, abs=0.3)
    # one stop from 100 of 255: linear 0.1274 twice is 0.2548, which is coded 0.5423 (IEC 61966-2-1)
    assert survey.figures(before=False)[10, 7] == pytest.approx(54.23, abs=0.3)
    session.undo()
    survey.renew(3)
    assert (session.index, survey.readings(3)) != (3, after)
    again = survey.readings(3)
    assert first is not None
    assert again is not None
    assert again.after == first.after
    assert reading.names == []
    office.end()


def test_shots_apart_are_known_and_skipped_ones_do_not_count(tmp_path: Path) -> None:
    files = pictures(tmp_path, 12)
    Image.new("RGB", (8, 6), (5, 100, 240)).save(files[4])
    office = Office(tmp_path)
    office.until(office.settled)
    reel = office.survey.reel(before=False)
    assert np.flatnonzero(reel.outliers).tolist() == [4]
    assert str(reel.reasons(4)[0]) == "black of blue 94 %, the reel's is 43 ± 0"
    assert office.survey.reel(before=False) is reel
    office.session.state("skipped", index=4)
    assert not office.survey.reel(before=False).outliers.any()
    assert office.survey.reel(before=False).counted == 11
    office.end()


def test_what_can_not_be_read_is_known_as_such_and_a_replaced_file_is_read_again(tmp_path: Path) -> None:
    files = pictures(tmp_path, 6)
    files[2].write_bytes(b"")
    office = Office(tmp_path)
    office.until(lambda: office.survey.measured == 6)
    known = office.survey.known(2)
    assert known is not None
    assert "empty" in str(known.fault)
    office.until(lambda: office.survey.readings(5) is not None)
    Image.new("RGB", (8, 6), (200, 100, 110)).save(tmp_path / "next.png")
    os.replace(tmp_path / "next.png", files[2])
    Image.new("RGB", (8, 6), (250, 100, 110)).save(tmp_path / "next.png")
    os.replace(tmp_path / "next.png", files[5])
    files[0].unlink()

    def noticed() -> bool:
        gone = office.survey.known(0)
        figures = office.survey.figures(before=True)[:, 4]
        return bool(gone and gone.fault) and figures[2] > 78 and figures[5] > 97

    office.until(noticed)
    office.end()


def test_a_session_that_grows_or_is_sorted_keeps_what_is_known(
    office: Office, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    office.until(office.settled)
    reading = Reading(monkeypatch)
    Image.new("RGB", (8, 6), (222, 100, 110)).save(tmp_path / "pier.png")
    grown = Session(scan([tmp_path]).shots)
    office.session.slots.insert(0, grown.slots[0])
    office.session.slots.reverse()
    assert office.survey.measured == 12
    assert office.survey.figures(before=True)[0, 4] == pytest.approx(100 * 11 / 255)
    assert np.isnan(office.survey.figures(before=True)[-1]).all()
    office.until(office.settled)
    assert reading.names == ["pier.png"]
    assert office.survey.figures(before=True)[-1, 4] == pytest.approx(100 * 222 / 255)
    office.end()


def test_a_sequence_stands_as_the_frame_it_stands_at(tmp_path: Path) -> None:
    office = Office(demo(tmp_path))
    office.until(office.settled)
    slot = office.session.slots[1]
    assert len(slot.shot.files) == 3
    known = office.survey.known(1)
    assert known is not None
    assert known.sample.file == slot.shot.files[0]
    office.session.go(1)
    office.session.frame(+2)
    judged_frame.pin(office.session)
    office.loader.want([slot.file])
    office.until(lambda: office.loader.get(slot.file) is not None)
    found = office.loader.get(slot.file)
    assert found is not None
    office.survey.take(1, found)
    office.until(office.settled)
    known = office.survey.known(1)
    assert known is not None
    assert known.sample.file == slot.shot.files[2]
    office.end()


def test_ten_thousand_samples_stay_within_bounds(tmp_path: Path) -> None:
    pictures(tmp_path, 1)
    office = Office(tmp_path)
    office.session.slots *= 10_000
    assert office.survey._bytes * 10_000 <= MEMORY
    assert AT_ONCE * office.survey._bytes >= 64_000  # and still tell something: 800 pixels each
    office.end()
