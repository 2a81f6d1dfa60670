"""What every bench script shares: medians of runs taken in turn, one line a result, and UHD frames to work on."""

import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
from skimage import data

POISE = [sys.executable, "-c", "from poise.commands import main; main()"]


def medians(*functions: Callable[[], object], runs: int = 5) -> list[float]:
    """The median seconds of each function, the runs taken in turn after one that does not count."""
    times: list[list[float]] = [[] for _ in functions]
    for turn in range(runs + 1):
        for function, taken in zip(functions, times, strict=True):
            start = time.perf_counter()
            function()
            if turn:
                taken.append(time.perf_counter() - start)
    return [statistics.median(taken) for taken in times]


def pairs(
    function: Callable[[], object],
    reference: Callable[[], object],
    runs: int = 5,
    clock: Callable[[], float] = time.perf_counter,
) -> tuple[float, float, float]:
    """Median seconds of both, and the median of the ratios of runs that follow each other, which share their noise."""
    times: list[tuple[float, float]] = []
    for turn in range(runs + 1):
        first, second = (function, reference) if turn % 2 else (reference, function)
        start = clock()
        first()
        middle = clock()
        second()
        took = middle - start, clock() - middle
        times.append(took if turn % 2 else took[::-1])
    ours, theirs = zip(*times[1:], strict=True)
    ratio = statistics.median(one / other for one, other in times[1:])
    return statistics.median(ours), statistics.median(theirs), ratio


def row(
    what: str, measured: float, reference: float, target: float, unit: str = "x", ratio: float | None = None
) -> None:
    """One line: measured and reference in milliseconds, and the ratio or time that the target is about."""
    value = (ratio or measured / reference) if unit == "x" else measured
    verdict = "met" if value <= target else "MISSED"
    print(f"{what:58s} {measured * 1e3:9.1f} ms {reference * 1e3:9.1f} ms {value:8.3f} {unit} <= {target} {verdict}")


def uhd(seed: int = 1) -> np.ndarray:
    """A photograph enlarged to 3840 x 2160 at 16 bits, with grain in the low bits."""
    photograph = data.astronaut()
    rows = np.linspace(0, 511, 2160).astype(int)
    columns = np.linspace(0, 511, 3840).astype(int)
    grain = np.random.default_rng(seed).integers(0, 1024, (2160, 3840, 3), dtype=np.uint16)
    return np.ascontiguousarray(photograph[rows][:, columns].astype(np.uint16) * 250 + grain)


def poise(*arguments: str | Path) -> None:
    """The command line, as a whole process."""
    subprocess.run([*POISE, *map(str, arguments)], check=True, capture_output=True)
