"""Processes: a worker that dies costs its own job only, and the culprit is named."""

from pathlib import Path

import pytest

from poise.batch.executors import DIED, processes

WORK = """
import os, signal
def dies_on_two(job):
    if job == 2:
        os.kill(os.getpid(), signal.SIGKILL)
"""


def test_only_the_culprit_fails(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "deadly_work.py").write_text(WORK)
    monkeypatch.syspath_prepend(tmp_path)
    from deadly_work import dies_on_two  # importable by name in a spawned process, as test modules are not

    assert dict(processes(dies_on_two, range(5), 2)) == {0: None, 1: None, 2: DIED, 3: None, 4: None}
