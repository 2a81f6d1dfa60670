"""A cluster on this machine: the same bytes as processes make; a killed worker costs nothing, a bad frame itself."""

import os
import signal
import sys
from collections.abc import Callable
from importlib.util import find_spec
from pathlib import Path
from typing import Any, cast

import pytest
import skimage.data
from PIL import Image
from until import LIMIT, until

from poise.batch.cluster import _done, cluster
from poise.batch.plan import Plan, Target, plan
from poise.batch.run import Outcome, here, run
from poise.batch.stop import Stop
from poise.batch.worker_process import LostJob
from poise.correction import Correction
from poise.errors import PoiseError, UsageError
from poise.frames import scan
from poise.sidecar import Decision

pytestmark = pytest.mark.skipif(find_spec("distributed") is None, reason="no distributed: pip install 'poise[cluster]'")
FRAMES = 8
WORK = """
import ctypes, time

def troubled(job):
    if job.file.name == "cup_02x.png":
        time.sleep(1000)
    if job.file.name == "cup_05x.png":
        ctypes.string_at(0)  # a real fault of addressing
    return "nothing to do"
"""


@pytest.fixture(scope="module")
def day(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A cup of coffee (skimage.data), eight times."""
    folder = tmp_path_factory.mktemp("day")
    for number in range(FRAMES):
        Image.fromarray(skimage.data.coffee()[number:]).save(folder / f"cup_{number:02}x.png")
    return folder


def planned(day: Path, out: Path) -> Plan:
    decision = Decision(Correction(saturation=0.8))
    return plan([(shot, decision) for shot in scan([day]).shots], Target(out))


def contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.glob("*.png")}


@pytest.mark.thorough
def test_the_same_bytes_whatever_does_it_and_a_killed_worker_costs_nothing(day: Path, tmp_path: Path) -> None:
    for workers in (1, 2, 4):
        run(planned(day, tmp_path / str(workers)), here(workers), lambda outcome: None)
    wanted = contents(tmp_path / "1")
    assert len(wanted) == FRAMES
    assert contents(tmp_path / "2") == contents(tmp_path / "4") == wanted
    outcomes: list[Outcome] = []

    def told(outcome: Outcome) -> None:
        outcomes.append(outcome)
        if len(outcomes) == 2:
            os.kill(until(victims)[0], signal.SIGKILL)

    clustered = planned(day, tmp_path / "cluster")
    summary = run(clustered, cluster("local:2", clustered), told)
    assert [one.reason for one in outcomes if one.result is None] == []
    assert len(summary.done) == FRAMES
    assert contents(tmp_path / "cluster") == wanted


def victims() -> list[int]:
    """Processes below this one that run dask's workers: those that have started processes for frames themselves."""
    parents: dict[int, int] = {}
    for status in Path("/proc").glob("[0-9]*/stat"):
        try:
            fields = status.read_text().rpartition(")")[2].split()
        except OSError:
            continue
        parents[int(status.parent.name)] = int(fields[1])

    def below(process: int) -> bool:
        while process > 1:
            process = parents.get(process, 0)
            if process == os.getpid():
                return True
        return False

    def works(process: int) -> bool:
        try:
            return b"poise.batch.worker_process" in Path(f"/proc/{process}/cmdline").read_bytes()
        except OSError:
            return False  # it is gone by now

    named = [process for process in parents if below(process) and works(process)]
    return [parents[process] for process in named if parents[process] != os.getpid()]


def test_a_frame_that_crashes_on_a_worker_is_named_and_the_next_is_done(
    day: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What a worker of a cluster does for each frame, without the cluster."""
    (tmp_path / "troubled_work.py").write_text(WORK)
    monkeypatch.syspath_prepend(tmp_path)
    monkeypatch.delitem(sys.modules, "troubled_work", raising=False)
    import troubled_work  # type: ignore[import-not-found]

    from poise.batch.dask_worker import Children  # an extra, and heavy

    children = Children("run", troubled_work.troubled, LIMIT)
    children.setup(None)
    jobs = {job.file.name: job for job in planned(day, tmp_path / "out").jobs}
    lost = children.run(jobs["cup_05x.png"])
    assert isinstance(lost, LostJob)
    assert "SIGSEGV" in lost.reason
    assert children.run(jobs["cup_06x.png"]) == "nothing to do"
    children.teardown(None)


@pytest.mark.thorough
def test_a_frame_that_hangs_or_crashes_on_a_cluster_is_named_and_costs_only_itself(
    day: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "troubled_work.py").write_text(WORK)
    monkeypatch.syspath_prepend(tmp_path)
    monkeypatch.delitem(sys.modules, "troubled_work", raising=False)
    import troubled_work  # type: ignore[import-not-found]

    outcomes: list[Outcome] = []
    one = planned(day, tmp_path / "out")
    run(one, cluster("local:2", one, limit=20, work=troubled_work.troubled), outcomes.append)
    reasons = {outcome.job.file.name: outcome.reason for outcome in outcomes}
    assert len(reasons) == len(outcomes) == FRAMES
    assert "longer than 20 s" in reasons.pop("cup_02x.png")
    assert "SIGSEGV" in reasons.pop("cup_05x.png")
    assert set(reasons.values()) == {"nothing to do"}


def test_a_cluster_that_is_none_is_told(day: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("poise.batch.cluster.ANSWER", 1.0)
    one = planned(day, tmp_path / "out")
    for number in ("many", "", "0", "-1", "257", "9" * 5000):
        with pytest.raises(UsageError, match="number of processes, 1 to 256, as in local:4"):
            cluster(f"local:{number}", one)
    with pytest.raises(UsageError, match="no scheduler answers"):
        run(one, cluster("tcp://127.0.0.1:9", one), lambda outcome: None)


class Forsaken:
    """A client as it is once its scheduler was killed: what distributed 2026.8 was seen to do then."""

    status = "cancelled"

    def nthreads(self) -> dict[str, int]:
        return {"tcp://127.0.0.1:9": 1}

    def submit(self, *_: object, **__: object) -> "Forsaken":
        return Forsaken()

    def add_done_callback(self, told: Callable[[object], None]) -> None:
        told(self)

    def cancel(self, futures: list[object]) -> None:
        assert all(isinstance(one, Forsaken) for one in futures)


def test_a_scheduler_that_went_away_is_told_in_a_line(day: Path, tmp_path: Path) -> None:
    jobs = planned(day, tmp_path / "out").jobs
    with pytest.raises(PoiseError, match="scheduler is gone; start it, and run the same command again"):
        next(_done(cast(Any, Forsaken()), "run", iter(jobs), Stop()))


class Forgetful(Forsaken):
    """A client whose first future loses the result of its job, as with a worker that dies right after a frame."""

    status = "finished"

    def __init__(self) -> None:
        self.submitted: list[Forgetful] = []

    def submit(self, *_: object, **__: object) -> "Forgetful":
        future = Forgetful()
        future.status = "finished" if self.submitted else "lost"
        self.submitted.append(future)
        return future

    def result(self) -> str:
        assert self.status == "finished"
        return "nothing to do"


def test_a_result_that_is_lost_with_its_worker_is_made_once_more(day: Path, tmp_path: Path) -> None:
    client, jobs = Forgetful(), planned(day, tmp_path / "out").jobs[:1]
    assert list(_done(cast(Any, client), "run", iter(jobs), Stop())) == [(jobs[0], "nothing to do")]
    assert [future.status for future in client.submitted] == ["lost", "finished"]


def test_machines_that_dont_see_the_files_say_so(day: Path, tmp_path: Path) -> None:
    one = planned(day, tmp_path / "out")
    hidden = tmp_path / "hidden"
    day.rename(hidden)
    try:
        with pytest.raises(UsageError, match=r"does not see .*cup_00x.png; the folder must be shared"):
            run(one, cluster("local:1", one), lambda outcome: pytest.fail("nothing may begin"))
    finally:
        hidden.rename(day)
