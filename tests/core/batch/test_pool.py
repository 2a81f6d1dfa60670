"""Processes: one that dies or hangs costs its own job only, what killed it once may pass, and the culprit is named."""

import os
import signal
import sys
import time
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from poise.batch import pool
from poise.batch.pool import as_completed
from poise.batch.stop import Stop
from poise.batch.worker_process import LostJob

WORK = """
import ctypes, os, signal, time
from pathlib import Path
from types import SimpleNamespace

def dies_on_two(job):
    if job == 2:
        os.kill(os.getpid(), signal.SIGKILL)
    return -job

def dies_once(job):
    number, folder = job
    mark = Path(folder) / str(number)
    if number % 3 == 0 and not mark.exists():
        mark.touch()
        os.kill(os.getpid(), signal.SIGKILL)
    return number

def reads_nothing(job):
    if job == 1:
        ctypes.string_at(0)  # a real fault of addressing
    return job

def hangs_on_one(job):
    if job == 1:
        time.sleep(1000)
    return job

def slow(job):
    time.sleep(0.3)
    return job

def process(job):
    time.sleep(0.05)
    return os.getpid()
"""


@pytest.fixture
def works(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[[str], Callable[[Any], Any]]:
    """Functions that are importable by name in a spawned process, as those of test modules are not."""
    (tmp_path / "deadly_work.py").write_text(WORK)
    monkeypatch.syspath_prepend(tmp_path)
    monkeypatch.delitem(sys.modules, "deadly_work", raising=False)
    import deadly_work

    return lambda name: getattr(deadly_work, name)  # type: ignore[no-any-return]


def test_only_the_culprit_fails(works: Any) -> None:
    found = dict(as_completed(works("dies_on_two"), range(5), 2, Stop()))
    lost = found.pop(2)
    assert found == {0: 0, 1: -1, 3: -3, 4: -4}
    assert isinstance(lost, LostJob)
    assert "SIGKILL (out of memory?)" in lost.reason


def test_a_real_segmentation_fault_is_named(works: Any) -> None:
    found = dict(as_completed(works("reads_nothing"), range(3), 2, Stop()))
    assert (found[0], found[2]) == (0, 2)
    assert "SIGSEGV" in found[1].reason


def test_a_job_that_lost_its_process_is_done_once_more(works: Any, tmp_path: Path) -> None:
    jobs = [(number, str(tmp_path)) for number in range(7)]
    found = dict(as_completed(works("dies_once"), jobs, 3, Stop()))
    assert found == {job: job[0] for job in jobs}


def test_a_job_that_hangs_is_given_up(works: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """The pool's clock goes on by more than the limit once everything else is done."""
    found: dict[int, Any] = {}
    clock = SimpleNamespace(monotonic=lambda: time.monotonic() + (1000 if len(found) == 3 else 0))
    monkeypatch.setattr(pool, "time", clock)
    for job, result in as_completed(works("hangs_on_one"), range(4), 2, Stop(), limit=600):
        found[job] = result
    assert "longer than 600 s" in found.pop(1).reason
    assert found == {0: 0, 2: 2, 3: 3}


def test_what_has_begun_is_finished_when_asked_to_end(works: Any) -> None:
    stop, found = Stop(), []
    for job, _ in as_completed(works("slow"), range(50), 2, stop):
        found.append(job)
        stop.ask() if not stop.asked else None
    assert 1 < len(found) <= 3


def test_asked_again_it_ends_at_once(works: Any) -> None:
    """The job that hangs would go on for longer than any test may."""
    stop, found = Stop(), []
    for job, _ in as_completed(works("hangs_on_one"), range(2), 2, stop):
        found.append(job)
        stop.ask()
        stop.ask()
    assert found == [0]


def test_work_is_shared_and_jobs_are_made_as_they_are_taken(works: Any) -> None:
    made: list[int] = []

    def jobs() -> Any:
        for number in range(12):
            made.append(number)
            yield number

    ahead = []
    for place, _ in enumerate(as_completed(works("process"), jobs(), 2, Stop())):
        ahead.append(len(made) - place)
    assert max(ahead) <= 4
    assert len({found for _, found in as_completed(works("process"), range(12), 3, Stop())}) == 3


def test_processes_end_with_the_pool(works: Any) -> None:
    found = {process for _, process in as_completed(works("process"), range(6), 2, Stop())}
    for process in found:
        with pytest.raises(ProcessLookupError):
            os.kill(process, signal.SIGCONT)
