"""Runs on a worker of a cluster: each frame is processed in a child process, so that one that hangs costs only itself.

The worker can't be killed for one frame, as it would lose its other frames. Its child processes can, and are reused.
"""

from collections import deque
from collections.abc import Callable
from typing import Any

from distributed import WorkerPlugin, get_worker

from poise.batch.plan import Job
from poise.batch.worker import FrameResult
from poise.batch.worker_process import LostJob, WorkerProcess

Work = Callable[[Job], FrameResult | str]


class Children(WorkerPlugin):  # type: ignore[misc] # distributed has no type hints
    """The child processes of one run on one worker; they end with the run, or with the worker.

    Args:
        name: of the run.
        work: runs one job; importable by name.
        limit: seconds that a job may take.
    """

    def __init__(self, name: str, work: Work, limit: float) -> None:
        self.name, self._work, self._limit = name, work, limit

    def setup(self, worker: Any) -> None:
        self._all: set[WorkerProcess[Job, FrameResult | str]] = set()
        self._idle: deque[WorkerProcess[Job, FrameResult | str]] = deque()
        self._over = False

    def teardown(self, worker: Any) -> None:
        self._over = True
        for child in list(self._all):
            child.end()

    def run(self, job: Job) -> FrameResult | str | LostJob:
        """Run one job in an idle process; called from the threads of the worker."""
        try:
            child = self._idle.pop()
        except IndexError:
            child = WorkerProcess(self._work)
            self._all.add(child)
        child.start(job)
        result = child.result(self._limit)
        if self._over or isinstance(result, LostJob):
            child.end()
            self._all.discard(child)
        else:
            self._idle.append(child)
        return result


def run_in_child(job: Job, run: str) -> FrameResult | str | LostJob:
    """Run one job on the worker that this is called on."""
    children = get_worker().plugins[run]
    assert isinstance(children, Children)
    return children.run(job)
