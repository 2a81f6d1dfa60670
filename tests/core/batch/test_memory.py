"""Memory is flat in the number of frames: a frame leaves its name, its decision and its record, and no more."""

import tracemalloc
from collections.abc import Iterable, Iterator
from pathlib import Path

import pytest

from poise.batch.plan import Job, Target, plan
from poise.batch.run import Outcome, Result, run
from poise.batch.stop import Stop
from poise.batch.worker import FrameResult
from poise.correction import Correction
from poise.frames.shots import Shot
from poise.sidecar import Decision
from poise.stamp import Stamp

EACH = 2500
"""Bytes; a frame of 960 x 540 would take a million."""


def pretended(jobs: Iterable[Job], stop: Stop) -> Iterator[Result]:
    """Every job done, without a picture."""
    for number, job in enumerate(jobs):
        stamp = Stamp(number, number, number, number)
        yield job, FrameResult(stamp, f"{number:032x}", stamp, f"{number:032x}", 960 * 540, ("not kept: the fog",))


def taken(folder: Path, shots: int) -> int:
    """Bytes at most while so many stills are planned and run through, each with a decision of its own."""
    tracemalloc.start()
    try:
        decided = ((still(folder, number), decision(number)) for number in range(shots))
        outcomes = 0

        def told(outcome: Outcome) -> None:
            nonlocal outcomes
            outcomes += outcome.result is not None

        run(plan(decided, Target(folder / f"out-{shots}")), pretended, told)
        assert outcomes == shots
        return tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()


def still(folder: Path, number: int) -> Shot:
    name = f"quay_{number:06}x.png"
    return Shot(name, folder, (folder / name,), False)


def decision(number: int) -> Decision:
    return Decision(Correction(saturation=1 + number / 1e6))


@pytest.mark.thorough
def test_a_frame_more_costs_the_parent_little(tmp_path: Path) -> None:
    few, many = 100, 1000
    taken(tmp_path, 10)  # what is loaded with the first run
    each = (taken(tmp_path, many) - taken(tmp_path, few)) / (many - few)
    assert each < EACH
