"""The terminal app on a real pty: nudges, key floods, start-up, walking from shot to shot, and memory.

A nudge's time and bytes count from the key to the first 60 ms without a byte: what is refined at rest comes later. With
`--only a,c` some parts run; with `--scopes-only KEYS` also the bytes of a nudge after those keys hid the picture.
"""

import argparse
import itertools
import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path

import numpy as np
from measure import POISE, medians, row, uhd
from terminals import KEYS, Pty, environment, lag

from poise.frames import Depth, Frame, write

TRUE_COLOUR = environment()
COLOURS_256 = environment(COLORTERM=None)
NUDGES = [key for key in "qtuzbm" for _ in range(5)]  # each run of five is taken back by a later one


def verdict(what: str, measured: float, target: float | None, unit: str, note: str = "") -> None:
    """One line: measured, target, and whether it was met."""
    judged = "" if target is None else f"<= {target:g} {unit:5s} {'met' if measured <= target else 'MISSED'}"
    print(f"{what:58s} {measured:9.1f} {unit:3s} {judged} {note}".rstrip(), flush=True)


def uhd_shots(folder: Path, suffix: str, count: int, pictures: int = 5) -> Path:
    """So many UHD 16-bit shots, no two neighbours alike; some share a file on disk."""
    folder.mkdir()
    for i in range(count):
        shot = folder / f"quay_{i + 1:03}.{suffix}"
        if i < pictures:
            write(shot, Frame(np.roll(uhd(i), 600 * i, axis=1) >> i % 2, Depth.U16))
        else:
            os.link(folder / f"quay_{i % pictures + 1:03}.{suffix}", shot)
    return folder


def small_shots(folder: Path, count: int) -> Path:
    """So many stills of 64 x 36 pixels, all one file on disk."""
    folder.mkdir()
    first = folder / "pier00001.png"
    write(first, Frame(np.ascontiguousarray(uhd()[::60, ::60]), Depth.U16))
    for i in range(2, count + 1):
        os.link(first, folder / f"pier{i:05}.png")
    return folder


@contextmanager
def desk(folder: Path, variables: Mapping[str, str] = TRUE_COLOUR, rate: int | None = None) -> Iterator[Pty]:
    """The app at 120 x 40 on a folder without decisions, its first picture drawn and refined; quits it afterwards."""
    for sidecar in folder.glob("*.poise.json"):
        sidecar.unlink()
    first = min(file.name for file in folder.iterdir())
    with Pty([*POISE, str(folder)], 120, 40, variables, rate=rate) as pty:
        pty.wait_for(first, 60)
        pty.wait_quiet(1)
        yield pty
        pty.send("Q")
        pty.wait()


def nudges(
    folder: Path,
    variables: Mapping[str, str],
    view_keys: Sequence[str] = "",
    count: int = 100,
    rest: float = 0,
    keys: Sequence[str] = NUDGES,
) -> tuple[list[float], list[int]]:
    """Milliseconds and bytes of each nudge, after pressing `view_keys`, with `rest` quiet seconds before each."""
    times, sizes = [], []
    with desk(folder, variables) as pty:
        for key in view_keys:
            pty.send(key)
            pty.wait_quiet(1)
        for key in itertools.islice(itertools.cycle(keys), count):
            if rest:
                pty.wait_quiet(rest)
            mark, sent = pty.mark(), time.monotonic()
            pty.send(key)
            burst = pty.burst(mark)
            times.append((burst.last - sent) * 1e3)
            sizes.append(burst.size)
    return times, sizes


def part_a(made: Path, scopes_only: str) -> None:
    folder = uhd_shots(made / "nudge", "tif", 2, 2)
    for title, variables, kilobytes in (("true colour", TRUE_COLOUR, 18), ("256 colours", COLOURS_256, 12)):
        times, sizes = nudges(folder, variables)
        worst = f"(95th percentile {np.percentile(sizes, 95) / 1e3:.1f})"
        verdict(f"nudge, {title}: last byte, median of 100", statistics.median(times), 20, "ms")
        verdict(f"nudge, {title}: last byte, 95th percentile", float(np.percentile(times, 95)), 35, "ms")
        verdict(f"nudge, {title}: bytes, median", statistics.median(sizes) / 1e3, kilobytes, "KB", worst)
    times, sizes = nudges(folder, TRUE_COLOUR, count=30, rest=0.5)
    worst = f"({statistics.median(sizes) / 1e3:.1f} KB)"
    verdict("nudge from rest, true colour: last byte, median of 30", statistics.median(times), 20, "ms", worst)
    if scopes_only:
        _, sizes = nudges(folder, TRUE_COLOUR, scopes_only)
        verdict("nudge, true colour, scopes only: bytes, median", statistics.median(sizes) / 1e3, 10, "KB")


def part_b(made: Path, _: str) -> None:
    folder = uhd_shots(made / "flood", "tif", 2, 2)
    for line, rate, target in (("", None, 100), (" on a line of 250 KB/s", 250_000, 500)):
        with desk(folder, rate=rate) as pty:
            lags = []
            for _turn in range(5):
                lags.append(lag(pty, (NUDGES * 2)[:60], 60))
                pty.wait_quiet(1)
        late = [one.seconds * 1e3 for one in lags]
        note = f"(worst {max(late):.0f}, {statistics.median(one.size for one in lags) / 1e3:.0f} KB)"
        verdict(f"60 nudges a second{line}: lag, median of 5", statistics.median(late), target, "ms", note)


def part_c(made: Path, _: str) -> None:
    (empty,) = medians(lambda: subprocess.run([sys.executable, "-c", ""], check=True))
    for count, target in ((1000, 0.9), (10_000, 1.5)):
        folder = small_shots(made / f"start{count}", count)
        seconds = []
        for _turn in range(5):
            with desk(folder) as pty:
                painted = pty.shown_at("pier00001.png")
                assert painted is not None, "desk() waited for it"
                seconds.append(painted - pty.started)
        row(f"first paint, {count:,} shots, beside an empty Python", statistics.median(seconds), empty, target, "s")


def part_d(made: Path, _: str) -> None:
    for suffix in ("tif", "png"):
        with desk(uhd_shots(made / f"next_{suffix}", suffix, 8)) as pty:
            times, settled, shares = [], [], []
            for _turn in range(7):
                time.sleep(3)  # long enough to fetch the neighbours, which shows nowhere
                mark, sent = pty.mark(), time.monotonic()
                pty.send(KEYS["down"])
                burst = pty.burst(mark)
                times.append((burst.last - sent) * 1e3)
                settled.append((pty.wait_quiet(0.5) - sent) * 1e3)
                shares.append(burst.size / len(pty.since(mark)))
        # a small share of the bytes would mean that the picture itself came after the gap
        note = f"({statistics.median(shares):.0%} of the bytes; all settled after {statistics.median(settled):.0f} ms)"
        verdict(f"next shot, UHD {suffix}: last byte, median of 7", statistics.median(times), 100, "ms", note)


def peak(process: int) -> int:
    """The peak resident kilobytes of a process and its children (VmHWM of proc(5))."""
    status = dict(line.split(":\t", 1) for line in Path(f"/proc/{process}/status").read_text().splitlines())
    children = itertools.chain(*(c.read_text().split() for c in Path(f"/proc/{process}/task").glob("*/children")))
    return int(status["VmHWM"].split()[0]) + sum(peak(int(child)) for child in children)


def part_e(made: Path, _: str) -> None:
    with desk(uhd_shots(made / "walk", "tif", 20)) as pty:
        before = peak(pty.process.pid)
        for _turn in range(19):
            mark = pty.mark()
            pty.send(KEYS["down"])
            pty.wait_quiet(0.5, after=mark)
        note = f"({before / 1024:.0f} at the first)"
        verdict("peak memory after walking 20 UHD TIFF shots", peak(pty.process.pid) / 1024, None, "MiB", note)


def part_f(made: Path, _: str) -> None:
    """Keyed in the middle of the picture, blurred by 0.004 of its height, then the bank of the correction inside."""
    folder = uhd_shots(made / "matte", "tif", 2, 2)
    keys = ("K", KEYS["enter"], KEYS["tab"], *"wwww", KEYS["tab"])
    for title, variables in (("true colour", TRUE_COLOUR), ("256 colours", COLOURS_256)):
        times, sizes = nudges(folder, variables, keys)
        note = f"(95th percentile {np.percentile(times, 95):.1f}; {statistics.median(sizes) / 1e3:.1f} KB)"
        verdict(f"nudge inside a matte, {title}: median of 100", statistics.median(times), 25, "ms", note)
    times, sizes = nudges(folder, TRUE_COLOUR, ("L", KEYS["enter"]), keys="wwwwwxxxxx")
    verdict("nudge at the curves, true colour: median of 100", statistics.median(times), None, "ms")


def part_g(made: Path, _: str) -> None:
    """Among 2,000 small shots, all measured; then 40 UHD shots that are only measured, none of them looked at."""
    with desk(small_shots(made / "reel", 2000)) as pty:
        mark, sent = pty.mark(), time.monotonic()
        pty.send("E")
        burst = pty.burst(mark)
        verdict("reel view of 2,000 shots: last byte of its first paint", (burst.last - sent) * 1e3, None, "ms")
        pty.wait_for("of 2000 measured", 10)
        while pty.screen().shows("of 2000 measured"):
            time.sleep(1)
        verdict("2,000 shots measured, from the first paint", time.monotonic() - sent, None, "s")
        times, sizes = [], []
        for key in itertools.islice(itertools.cycle(NUDGES), 100):
            mark, sent = pty.mark(), time.monotonic()
            pty.send(key)
            burst = pty.burst(mark)
            times.append((burst.last - sent) * 1e3)
            sizes.append(burst.size)
        note = f"(95th percentile {np.percentile(times, 95):.1f}; {statistics.median(sizes) / 1e3:.1f} KB)"
        verdict("nudge at the reel, 2,000 shots: median of 100", statistics.median(times), 20, "ms", note)
        verdict("peak memory with 2,000 small shots measured", peak(pty.process.pid) / 1024, None, "MiB")
    with desk(uhd_shots(made / "survey", "tif", 40)) as pty:
        pty.send("E")
        pty.wait_for("of 40 measured", 10)
        began = time.monotonic()
        while pty.screen().shows("of 40 measured"):
            time.sleep(1)
        verdict("40 UHD shots measured", time.monotonic() - began, None, "s")
        verdict("peak memory with 40 UHD shots measured", peak(pty.process.pid) / 1024, 600, "MiB")


PARTS: dict[str, Callable[[Path, str], None]] = {
    "a": part_a,
    "b": part_b,
    "c": part_c,
    "d": part_d,
    "e": part_e,
    "f": part_f,
    "g": part_g,
}


def main() -> None:
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("--only", default=",".join(PARTS), help="parts to run, such as a,b")
    arguments.add_argument(
        "--scopes-only", default="", metavar="KEYS", help="keys that leave the scopes alone on screen"
    )
    given = arguments.parse_args()
    for name in given.only.split(","):
        with tempfile.TemporaryDirectory(prefix="poise-desk-") as made:
            PARTS[name](Path(made), given.scopes_only)


if __name__ == "__main__":
    main()
