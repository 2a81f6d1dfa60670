"""Processes: a worker that dies costs its own job only, and the culprit is named."""

import os
import signal

from poise.batch.executors import DIED, processes


def dies_on_two(job: int) -> str | None:
    if job == 2:
        os.kill(os.getpid(), signal.SIGKILL)
    return None


def test_only_the_culprit_fails() -> None:
    results = dict(processes(dies_on_two, range(5), 2))
    assert results == {0: None, 1: None, 2: DIED, 3: None, 4: None}
