"""A cluster: the same jobs on other machines, through dask.distributed; optional, loaded only when it is asked for."""

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
"""Processes that are started here."""
AHEAD = 2
"""Jobs a thread of the cluster has at hand: the one it does and the one that comes next."""
ANSWER = 10.0
"""Seconds that a scheduler may take to answer."""
_LOOK = 0.5
_COUNT = 2.0
"""Seconds between two counts of the threads of a cluster, which may grow and shrink."""
_SEEN = 5
"""Files of a plan that every machine is asked for; they stand for the rest."""


def cluster(address: str, plan: Plan, limit: float = LIMIT, work: "Work" = process_frame) -> "Executor":
    """Jobs are done by the workers of a scheduler, or of a cluster that is started for the run on this machine.

    Args:
        address: of a scheduler, such as `tcp://box:8786`, or `local:N` for N processes here.
        plan: what will be done; before it begins, every machine is asked whether it sees the files.
        limit: seconds that a frame may take.
        work: what does a job, importable by name on every worker.

    Raises:
        UsageError: dask.distributed is not installed, or the address is none.
    """
    try:
        import distributed  # noqa: F401
    except ImportError:
        raise UsageError("a cluster needs dask.distributed; install poise[cluster]") from None
    number = address.removeprefix(LOCAL)
    if number != address and not (number.isdecimal() and len(number) < 4 and 1 <= int(number) <= MOST):
        raise UsageError(f"--cluster {address}: after local: comes a number of processes, 1 to {MOST}, as in local:4")

    def execute(jobs: Iterable[Job], stop: Stop) -> Iterator[tuple[Job, FrameResult | LostJob | str]]:
        with ExitStack() as left:
            client = _client(address, left)
            _prepared(client, plan)
            run = left.enter_context(_children(client, work, limit))
            yield from _done(client, run, iter(jobs), stop)

    return execute


def _client(address: str, left: ExitStack) -> "Client":
    import logging

    from distributed import Client, LocalCluster

    logging.getLogger("distributed").setLevel(logging.CRITICAL)  # what matters is told for each frame
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


def _prepared(client: "Client", plan: Plan) -> None:
    """Whether every machine has this version of poise, and sees the sources and the folder of outputs.

    Raises:
        UsageError: for each machine that doesn't, what it lacks.
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
        told = "; ".join(f"{host}: {lack}" for host, lack in sorted(faults.items()))
        raise UsageError(f"not every machine is ready: {told}")


def _lacks(files: list[Path], folder: Path, version: str) -> tuple[str, str]:
    """On a worker: its name, and what it lacks."""
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
    """While it lasts, every worker, also one that comes later, has processes for this run; yields its name."""
    from poise.batch.dask_worker import Children

    run = f"poise-{uuid.uuid4()}"
    client.register_plugin(Children(run, work, limit))
    try:
        yield run
    finally:
        with suppress(Exception):  # whatever became of the cluster, the run is over
            client.unregister_worker_plugin(run)


def _done(
    client: "Client", run: str, jobs: Iterator[Job], stop: Stop
) -> Iterator[tuple[Job, FrameResult | LostJob | str]]:
    """Submits a few jobs ahead, so that memory stays flat, and yields them as they end.

    A job whose process died is done once more, alone, when all else is done, as by `poise.batch.pool`.

    Raises:
        PoiseError: the scheduler went away; what has ended was yielded.
    """
    from poise.batch.dask_worker import do_below

    flying: dict[Any, tuple[Job, bool]] = {}
    again, ended = deque[Job](), SimpleQueue[Any]()
    threads, counted = 0, -inf

    def submit(job: Job, second: bool = False) -> None:
        future = client.submit(do_below, _absolute(job), run, pure=False)
        flying[future] = job, second
        future.add_done_callback(ended.put)

    try:
        while stop.asked < 2:
            if time.monotonic() - counted > _COUNT:  # every question to the scheduler takes its time
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
            if future.status in ("cancelled", "lost"):
                raise PoiseError("the cluster's scheduler is gone; start it, and the same command goes on from here")
            fault = None if future.status == "finished" else future.exception()
            result = LostJob(f"the cluster lost it ({fault})") if fault is not None else future.result()
            if isinstance(result, LostJob) and result.again and not second:
                again.append(job)
            else:
                yield job, result
    finally:
        client.cancel(list(flying))


def _absolute(job: Job) -> Job:
    """With paths that are the same in whatever folder a worker was started."""
    return replace(job, file=job.file.resolve(), output=job.output.parent.resolve() / job.output.name)
