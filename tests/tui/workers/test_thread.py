"""Background threads: of jobs that wait only the newest is done; saves are all done, in order."""

import threading
import time
from pathlib import Path
from queue import Empty, Queue

import pytest
from PIL import Image

from poise.frames import scan
from poise.sidecar import load
from poise_tui.session.save import Job, Outcome, write
from poise_tui.session.session import Session
from poise_tui.workers import thread
from poise_tui.workers.saver import Saver
from poise_tui.workers.thread import Latest


def test_of_jobs_that_wait_only_the_newest_is_done() -> None:
    done: Queue[object] = Queue()
    begun, go = threading.Event(), threading.Event()

    def first() -> str:
        begun.set()
        assert go.wait(20)
        return "first"

    latest = Latest("tide", done.put)
    latest.do(first)
    assert begun.wait(20)
    for number in range(5):
        latest.do(lambda number=number: number)
    go.set()
    assert (done.get(timeout=20), done.get(timeout=20)) == ("first", 4)
    latest.do(lambda: "last")
    assert done.get(timeout=20) == "last"
    assert done.empty()
    latest.end()


def test_a_job_that_was_not_begun_can_be_dropped_and_a_fault_is_reported() -> None:
    done: Queue[object] = Queue()
    begun, go = threading.Event(), threading.Event()

    def fail() -> None:
        begun.set()
        assert go.wait(20)
        raise ValueError("fog")

    latest = Latest("tide", done.put)
    latest.do(fail)
    assert begun.wait(20)
    latest.do(lambda: "never")
    latest.drop()
    go.set()
    fault = done.get(timeout=20)
    assert isinstance(fault, ValueError)
    latest.do(lambda: "on")
    assert done.get(timeout=20) == "on"
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
        session.nudge(8, index % 3 - 1 or 2)
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
        time.sleep(0.1)
        return write(job)

    monkeypatch.setattr(thread, "PATIENCE", 0.25)
    monkeypatch.setattr(thread, "write", slow)
    for number in range(8):
        Image.new("RGB", (8, 4)).save(tmp_path / f"quay_{number}.png")
    session = Session(scan([tmp_path]).shots)
    saver = Saver(lambda: None)
    for index in range(8):
        session.go(index)
        session.nudge(8, +1)
        saver.do(session.job(index))
    saver.end()
    assert len(saver.outcomes()) == 8
