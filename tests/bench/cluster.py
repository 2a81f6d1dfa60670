"""What a cluster costs: the same small frames by `--cluster local:2` and by two processes of our own.

Seconds of both, seconds of processor time in all processes, what each more frame costs of either, and the memory of the
command, in which the scheduler of a local cluster runs. `--frames 100 1000` for fewer.
"""

import argparse
import os
import tempfile
import time
from itertools import pairwise
from pathlib import Path

from measure import POISE
from memory import peaks, small

FRAMES = (100, 1000, 10000)
WAYS = {"own processes": ("--workers", "2"), "local:2": ("--cluster", "local:2")}


def main() -> None:
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("--frames", type=int, nargs="+", default=FRAMES)
    given = arguments.parse_args()
    took: dict[str, dict[int, tuple[float, float]]] = {name: {} for name in WAYS}
    with tempfile.TemporaryDirectory(prefix="poise-cluster-") as made:
        for frames in given.frames:
            day = small(Path(made), frames)
            for name, options in WAYS.items():
                began, used = time.monotonic(), processor()
                parent, below = peaks(*POISE, "apply", day, "--out", Path(made) / f"{name}-{frames}", *options)
                took[name][frames] = time.monotonic() - began, processor() - used
                seconds = "{:7.1f} s, {:6.1f} s of processor".format(*took[name][frames])
                print(f"{frames:6d} frames, {name:14s} {seconds}, {parent:6.1f} MiB, below {below:6.1f}", flush=True)
    for name, costs in took.items():
        for few, many in pairwise(sorted(costs)):
            each = [1e3 * (b - a) / (many - few) for a, b in zip(costs[few], costs[many], strict=True)]
            print(f"{name:14s} each frame from {few} to {many}: {each[0]:6.2f} ms, {each[1]:6.2f} of processor")


def processor() -> float:
    """Seconds of all processes that were started here and have ended, with those below them."""
    times = os.times()
    return times.children_user + times.children_system


if __name__ == "__main__":
    main()
