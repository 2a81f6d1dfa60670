"""Runs jobs on other machines through dask.distributed; an optional extra, imported only when asked for."""

import time
import uuid
from collections import deque
from collections.abc import Iterable, Iterator
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import replace
from itertools import islice
from math import inf
from pathlib import Path
from queue import Empty, SimpleQueue
from typing import TYPE_CHECKING, Any

from poise.batch.plan import Job, Plan
from poise.batch.pool import LIMIT
from poise.batch.stop import Stop
from poise.batch.worker import FrameResult, process_frame
from poise.batch.worker_process import LostJob
from poise.errors import PoiseError, UsageError

if TYPE_CHECKING:
    from distributed import Client

    from poise.batch.dask_worker import Work
    from poise.batch.run import Executor

LOCAL = "local:"
MOST = 256
"""The largest number of processes to start on this machine."""
AHEAD = 2
"""Jobs submitted per thread of the cluster: the one it runs and the next one."""
ANSWER = 10.0
"""Seconds to wait for a scheduler to answer."""
_LOOK = 0.5
_COUNT = 2.0
"""Seconds between two counts of the threads of a cluster, which may grow and shrink."""
_SEEN = 5
"""Files of a plan that every machine must see before the run starts; a sample of all."""


def cluster(address: str, plan: Plan, limit: float = LIMIT, work: "Work" = process_frame) -> "Executor":
    """An executor on the workers of a scheduler, or of a cluster started on this machine for the run.

    Args:
        address: of a scheduler, such as `tcp://box:8786`, or `local:N` for N processes on this machine.
        plan: the run; before it starts, every machine is asked whether it sees the files.
        limit: seconds that a frame may take.
        work: runs one job; importable by name on every worker.

    Raises:
        UsageError: dask.distributed is not installed, or the address is invalid.
    """
    try:
        import distributed  # noqa: F401
    except ImportError:
        raise UsageError("a cluster needs dask.distributed; install poise[cluster]") from None
    number = address.removeprefix(LOCAL)
    if number != address and not (number.isdecimal() and len(number) < 4 and 1 <= int(number) <= MOST):
        raise UsageError(f"--cluster {address}: after local: give a number of processes, 1 to {MOST}, as in local:4")

    def execute(jobs: Iterable[Job], stop: Stop) -> Iterator[tuple[Job, FrameResult | LostJob | str]]:
        with ExitStack() as left:
            client = _client(address, left)
            _require_ready(client, plan)
            run = left.enter_context(_children(client, work, limit))
            yield from _done(client, run, iter(jobs), stop)

    return execute


def _client(address: str, left: ExitStack) -> "Client":
    import logging

    from distributed import Client, LocalCluster

    logging.getLogger("distributed").setLevel(logging.CRITICAL)  # faults are reported for each frame
    try:
        if address.startswith(LOCAL):
            number = int(address.removeprefix(LOCAL))
            local = LocalCluster(
                n_workers=number, threads_per_worker=1, processes=True, dashboard_address=None, silence_logs=50
            )
            return left.enter_context(Client(left.enter_context(local)))
        client = left.enter_context(Client(address, timeout=ANSWER))
    except (OSError, ValueError, TimeoutError) as fault:
        raise UsageError(f"--cluster {address}: no scheduler answers there ({fault})") from None
    if not client.scheduler_info()["workers"]:
        raise UsageError(f"--cluster {address}: the scheduler has no workers; start some with dask worker {address}")
    return client


def _require_ready(client: "Client", plan: Plan) -> None:
    """Require that every machine has this version of poise, and sees the sources and the folder of outputs.

    Raises:
        UsageError: some machines don't; lists what each lacks.
    """
    from poise import __version__

    step = max(len(plan.jobs) // _SEEN, 1)
    files = [job.file.resolve() for job in plan.jobs[::step]]
    answers: dict[str, Any] = client.run(_lacks, files, plan.target.folder.resolve(), __version__, on_error="return")
    faults: dict[str, str] = {}
    for worker, answer in answers.items():
        if isinstance(answer, BaseException):
            faults[worker] = f"can't run poise ({type(answer).__name__}: {answer})"
        elif answer[1]:
            faults[answer[0]] = answer[1]
    if faults:
        lacking = "; ".join(f"{host}: {lack}" for host, lack in sorted(faults.items()))
        raise UsageError(f"not every machine is ready: {lacking}")


def _lacks(files: list[Path], folder: Path, version: str) -> tuple[str, str]:
    """Runs on a worker: its host name, and what it lacks."""
    import os
    import socket

    from poise import __version__

    if __version__ != version:
        return socket.gethostname(), f"has poise {__version__}, not {version}"
    missing = [file for file in files if not file.exists()]
    if missing:
        return socket.gethostname(), f"does not see {missing[0]}; the folder must be shared under the same path"
    if not os.access(folder, os.W_OK):
        return socket.gethostname(), f"can't write into {folder}"
    return socket.gethostname(), ""


@contextmanager
def _children(client: "Client", work: "Work", limit: float) -> Iterator[str]:
    """Give every worker, including those that join later, processes for this run; yields the name of the run."""
    from poise.batch.dask_worker import Children

    run = f"poise-{uuid.uuid4()}"
    client.register_plugin(Children(run, work, limit))
    try:
        yield run
    finally:
        with suppress(Exception):  # the run is over, even if the cluster is gone
            client.unregister_worker_plugin(run)


def _done(
    client: "Client", run: str, jobs: Iterator[Job], stop: Stop
) -> Iterator[tuple[Job, FrameResult | LostJob | str]]:
    """Submit a few jobs ahead, so that memory use stays flat, and yield them as they end.

    A job whose process died runs once more, alone, after all others, as in `poise.batch.pool`.

    Raises:
        PoiseError: the scheduler went away; jobs that had ended were yielded.
    """
    from poise.batch.dask_worker import run_in_child

    flying: dict[Any, tuple[Job, bool]] = {}
    again, ended = deque[Job](), SimpleQueue[Any]()
    threads, counted = 0, -inf

    def submit(job: Job, second: bool = False) -> None:
        future = client.submit(run_in_child, _absolute(job), run, pure=False)
        flying[future] = job, second
        future.add_done_callback(ended.put)

    try:
        while stop.asked < 2:
            if time.monotonic() - counted > _COUNT:  # a request to the scheduler is slow
                threads, counted = max(sum(client.nthreads().values()), 1), time.monotonic()
            if not stop.asked:
                for job in islice(jobs, max(AHEAD * threads - len(flying), 0)):
                    submit(job)
                if not flying and again:
                    submit(again.popleft(), second=True)
            if not flying:
                return
            try:
                future = ended.get(timeout=_LOOK)
            except Empty:
                continue
            job, second = flying.pop(future)
            if future.status == "lost" and not second:  # its worker died after the job, before it passed on the result
                again.append(job)
                continue
            if future.status in ("cancelled", "lost"):
                raise PoiseError(
                    "the cluster's scheduler is gone; start it, and run the same command again to continue"
                )
            fault = None if future.status == "finished" else future.exception()
            result = LostJob(f"the cluster lost it ({fault})") if fault is not None else future.result()
            if isinstance(result, LostJob) and result.again and not second:
                again.append(job)
            else:
                yield job, result
    finally:
        client.cancel(list(flying))


def _absolute(job: Job) -> Job:
    """The job with absolute paths, as a worker may have another working directory."""
    return replace(job, file=job.file.resolve(), output=job.output.parent.resolve() / job.output.name)
