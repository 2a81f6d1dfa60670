"""On a worker of a cluster: each frame is done by a process below it, so that one that hangs costs only itself.

The worker itself can't be ended for one frame, nor may it lose the others that it has; its processes can, and are kept
for the next frame.
"""

from collections import deque
from collections.abc import Callable
from typing import Any

from distributed import WorkerPlugin, get_worker

from poise.batch.plan import Job
from poise.batch.worker import FrameResult
from poise.batch.worker_process import LostJob, WorkerProcess

Work = Callable[[Job], FrameResult | str]


class Children(WorkerPlugin):  # type: ignore[misc] # it has no types
    """The processes of one run on one worker; they end with the run, or with the worker.

    Args:
        name: of the run.
        work: importable by name.
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

    def do(self, job: Job) -> FrameResult | str | LostJob:
        """One job, by a process that has none; called from the threads of the worker."""
        try:
            child = self._idle.pop()
        except IndexError:
            child = WorkerProcess(self._work)
            self._all.add(child)
        child.hand(job)
        result = child.result(self._limit)
        if self._over or isinstance(result, LostJob):
            child.end()
            self._all.discard(child)
        else:
            self._idle.append(child)
        return result


def do_below(job: Job, run: str) -> FrameResult | str | LostJob:
    """One job of a run, on the worker that this is called on."""
    children = get_worker().plugins[run]
    assert isinstance(children, Children)
    return children.do(job)
