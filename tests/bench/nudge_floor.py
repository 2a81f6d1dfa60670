"""A nudge and a start, beside a bare textual app: median of each, in turns, as ratios.

The bare app draws on every key as many cells as the screen has, 4,800; in a second row, as many as a nudge changes.

A nudge's time counts from the key to the last byte before 60 ms without one. Settled is when the whole proxy and every
pixel were counted and drawn, 0.7 s after the last key at the earliest; those 0.7 s are left out.
"""

import itertools
import math
import statistics
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from desk import NUDGES, TRUE_COLOUR, desk, small_shots, uhd_shots
from measure import row
from terminals import Pty

from poise_tui.workers.coordinator import EXACT

BARE = str(Path(__file__).parent / "bare.py")
COUNT = 100
SCREEN = 120 * 40


@contextmanager
def bare(cells: int) -> Iterator[Pty]:
    with Pty([sys.executable, BARE, str(cells)], 120, 40, TRUE_COLOUR) as pty:
        pty.wait_quiet(0.5, after=0)
        yield pty
        pty.send("q")


def pressed(pty: Pty, key: str) -> float:
    """Seconds from a key to the last byte of its burst."""
    mark, sent = pty.mark(), time.monotonic()
    pty.send(key)
    return pty.burst(mark).last - sent


def changed(pty: Pty, keys: str) -> int:
    """Cells that a nudge changes on screen, median."""
    counts = []
    for key in keys:
        before = [list(line) for line in pty.screen().cells()]
        pressed(pty, key)
        after = pty.screen().cells()
        counts.append(
            sum(a != b for one, two in zip(before, after, strict=True) for a, b in zip(one, two, strict=True))
        )
    return int(statistics.median(counts))


def nudges(folder: Path) -> None:
    with desk(folder) as pty:
        cells = changed(pty, "".join(NUDGES[:15]))
        with bare(SCREEN) as floor, bare(cells) as least:
            ours, theirs, few = [], [], []
            for key in itertools.islice(itertools.cycle(NUDGES), COUNT):
                ours.append(pressed(pty, key))
                theirs.append(pressed(floor, "a"))
                few.append(pressed(least, "a"))
            row("nudge", statistics.median(ours), statistics.median(theirs), 1.8)
            row(f"nudge, beside {cells} cells", statistics.median(ours), statistics.median(few), math.inf)
            ours, theirs, settled = [], [], []
            for key in itertools.islice(itertools.cycle(NUDGES), COUNT // 4):
                mark, sent = pty.mark(), time.monotonic()
                pty.send(key)
                ours.append(pty.burst(mark).last - sent)
                settled.append(pty.wait_quiet(1.5) - sent - EXACT)
                theirs.append(pressed(floor, "a"))
                time.sleep(0.5)
            row("nudge from rest", statistics.median(ours), statistics.median(theirs), 2.2)
            print(f"settled, beyond the {EXACT} s of rest: {statistics.median(settled) * 1e3:.0f} ms (goal 300)")


def starts(made: Path) -> None:
    for count in (1000, 10_000):
        folder = small_shots(made / f"start{count}", count)
        ours, theirs = [], []
        for _ in range(5):
            with desk(folder) as pty:
                painted = pty.shown_at("pier00001.png")
                assert painted is not None, "desk() waited for it"
                ours.append(painted - pty.started)
            with Pty([sys.executable, BARE, "500"], 120, 40, TRUE_COLOUR) as floor:
                floor.wait_for("▀")
                theirs.append(floor.wait_quiet(0.5) - floor.started)
                floor.send("q")
        row(f"first paint, {count:,} shots", statistics.median(ours), statistics.median(theirs), 2.5)


if __name__ == "__main__":
    with tempfile.TemporaryDirectory(prefix="poise-floor-") as place:
        nudges(uhd_shots(Path(place) / "nudge", "tif", 2, 2))
        starts(Path(place))
