"""Background threads: of jobs that wait only the newest is done; saves are all done, in order."""

import threading
import time
from pathlib import Path
from queue import Empty, Queue
from typing import Any

import pytest
from msgspec.structs import replace
from PIL import Image
from until import LIMIT

from poise.frames import scan
from poise.sidecar import load
from poise_tui.edits import group
from poise_tui.session.save import Job, Outcome, write
from poise_tui.session.session import Session
from poise_tui.workers import saver as module
from poise_tui.workers.save_queue import SaveQueue
from poise_tui.workers.saver import Saver
from poise_tui.workers.thread import Answer, Latest


def test_of_jobs_that_wait_only_the_newest_is_done() -> None:
    done: Queue[Answer[Any, Any]] = Queue()
    begun, go = threading.Event(), threading.Event()

    def first(asked: str) -> str:
        begun.set()
        assert go.wait(LIMIT)
        return asked

    latest: Latest[str, object] = Latest("tide", done.put)
    latest.do("first", first)
    assert begun.wait(LIMIT)
    for number in range(5):
        latest.do(str(number), int)
    go.set()
    assert (done.get(timeout=LIMIT).found, done.get(timeout=LIMIT).found) == ("first", 4)
    latest.do("last", str)
    last = done.get(timeout=LIMIT)
    assert (last.asked, last.found) == ("last", "last")
    assert last.seconds >= 0
    assert done.empty()
    latest.end()


def test_a_job_that_was_not_begun_can_be_dropped_and_a_fault_is_reported() -> None:
    done: Queue[Answer[Any, Any]] = Queue()
    begun, go = threading.Event(), threading.Event()

    def fail(asked: str) -> None:
        begun.set()
        assert go.wait(LIMIT)
        raise ValueError("fog")

    latest: Latest[str, object] = Latest("tide", done.put)
    latest.do("fail", fail)
    assert begun.wait(LIMIT)
    latest.do("never", str)
    latest.drop()
    go.set()
    fault = done.get(timeout=LIMIT).found
    assert isinstance(fault, ValueError)
    latest.do("on", str)
    assert done.get(timeout=LIMIT).found == "on"
    latest.end()
    with pytest.raises(Empty):
        done.get(timeout=0.05)


def test_every_save_is_written_before_the_end(tmp_path: Path) -> None:
    for number in range(20):
        Image.new("RGB", (8, 4)).save(tmp_path / f"quay_{number:02}.png")
    session = Session(scan([tmp_path]).shots)
    reports: list[int] = []
    saver = Saver(lambda: reports.append(1))
    for index in range(20):
        session.go(index)
        group.nudge(session, 8, index % 3 - 1 or 2)
        saver.do(session.job(index))
    saver.end()
    outcomes = saver.outcomes()
    assert [outcome.index for outcome in outcomes] == list(range(20))
    assert (len(reports), saver.outcomes()) == (20, [])
    for outcome in outcomes:
        session.finish(outcome)
    assert session.unsaved == []
    for slot in session.slots:
        assert load(slot.shot.sidecar_path).correction == slot.decision.correction


def test_the_end_waits_for_many_saves_as_long_as_they_get_done(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def slow(job: Job) -> Outcome:
        time.sleep(0.15)
        return write(job)

    monkeypatch.setattr(module, "PATIENCE", 1.0)  # less than all eight take, and far more than one
    monkeypatch.setattr(module, "write", slow)
    for number in range(8):
        Image.new("RGB", (8, 4)).save(tmp_path / f"quay_{number}.png")
    session = Session(scan([tmp_path]).shots)
    saver = Saver(lambda: None)
    for index in range(8):
        session.go(index)
        group.nudge(session, 8, +1)
        saver.do(session.job(index))
    saver.end()
    assert len(saver.outcomes()) == 8


def test_a_save_that_ends_by_a_fault_nobody_foresaw_is_told_and_tried_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for number in range(2):
        Image.new("RGB", (8, 4)).save(tmp_path / f"quay_{number}.png")
    now = [100.0]
    session = Session(scan([tmp_path]).shots, lambda: now[0])
    reports: Queue[None] = Queue()
    said: list[str] = []
    queue = SaveQueue(session, lambda: reports.put(None), lambda text, warning: said.append(text))
    monkeypatch.setattr(module, "write", lambda job: {}[job.index])
    for index in range(2):
        session.correct(replace(session.load(index).decision.correction, saturation=0.5), index=index)
    now[0] += 60
    queue.tick()
    for _ in range(2):
        reports.get(timeout=20)
    queue.take()
    assert not any(slot.saving for slot in session.slots)
    assert session.unsaved == [0, 1]
    assert said[0].endswith("quay_0.png.poise.json: can't be saved: an unforeseen fault (KeyError: 0)")
    monkeypatch.setattr(module, "write", write)
    now[0] += 60
    queue.tick()
    for _ in range(2):
        reports.get(timeout=20)
    queue.take()
    assert session.unsaved == []
    assert [load(slot.shot.sidecar_path).correction.saturation for slot in session.slots] == [0.5, 0.5]


def test_a_thread_outlives_whoever_takes_its_results() -> None:
    done: Queue[Answer[Any, Any]] = Queue()

    def report(made: Answer[str, object]) -> None:
        done.put(made)
        if made.found == "first":
            raise RuntimeError("the loop is closed")

    latest: Latest[str, object] = Latest("tide", report)
    latest.do("first", str)
    assert done.get(timeout=20).found == "first"
    latest.do("second", str)
    assert done.get(timeout=20).found == "second"
    latest.end()
