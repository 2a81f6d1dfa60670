"""A first pass over a reel of UHD TIFF shots on a real pty: auto, three nudges, balanced and on, shot after shot.

What is timed is the wait for the next shot: from Enter to the last byte of its picture, scopes and figures, with the
answer to `auto` before it. Pictures share files on disk, so that what is read comes from the cache of the system as it
does for frames that just landed. `--shots N` for a shorter reel; `--tmux` drives the same pass through tmux, whose own
screen is looked at every 5 ms.
"""

import argparse
import statistics
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from desk import TRUE_COLOUR, desk, peak, uhd_shots, verdict
from measure import POISE
from terminals import KEYS, Pty, Tmux

NUDGES = ("q", "t", "o")
PICTURES = 8
WAIT, MEMORY = 150, 600


def pass_over(folder: Path, shots: int) -> tuple[list[float], list[float], float]:
    """Seconds of every wait for the next shot and for auto, and the peak memory in MiB."""
    waits, solved = [], []
    with desk(folder, TRUE_COLOUR) as pty:
        for name in names(folder, shots):
            sent = time.monotonic()
            pty.send("A")
            pty.wait_for("auto: ")
            solved.append(pty.last_byte_time() - sent)
            for key in NUDGES:
                pty.send(key)
                time.sleep(0.2)
            waits.append(arrival(pty, name))
        return waits, solved, peak(pty.process.pid) / 1024


def arrival(pty: Pty, name: str) -> float:
    """Seconds from Enter until the shot of a name stands on the screen and nothing came for 60 ms."""
    sent = time.monotonic()
    pty.send(KEYS["enter"])
    pty.wait_for(f"{name} 3840 x 2160")
    return pty.wait_quiet(0.06) - sent


def names(folder: Path, shots: int) -> Iterator[str]:
    """Those after the first."""
    yield from sorted(file.name for file in folder.glob("*.tif"))[1:shots]


def in_tmux(folder: Path, shots: int) -> list[float]:
    """The waits as a user of tmux has them: until its screen shows the shot with its figures."""
    waits = []
    with Tmux([*POISE, str(folder)], 120, 40) as tmux:
        tmux.wait_for("quay_001.tif 3840 x 2160")
        for name in names(folder, shots):
            tmux.keys("A")
            tmux.wait_for("auto: ")
            tmux.keys(*NUDGES)
            time.sleep(0.6)
            sent = time.monotonic()
            tmux.keys("Enter")
            tmux.wait_for(f"{name} 3840 x 2160", every=0.005)
            waits.append(time.monotonic() - sent)
        tmux.keys("Q")
        tmux.wait_end()
    return waits


def told(where: str, waits: list[float]) -> None:
    milliseconds = [1e3 * wait for wait in waits]
    late = sum(one > WAIT for one in milliseconds)
    note = f"(median {statistics.median(milliseconds):.0f}, 95th {np.percentile(milliseconds, 95):.0f}, {late} late)"
    verdict(f"next shot, worst of {len(waits)}, {where}", max(milliseconds), WAIT, "ms", note)


def main() -> None:
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("--shots", type=int, default=200)
    arguments.add_argument("--tmux", action="store_true")
    given = arguments.parse_args()
    with tempfile.TemporaryDirectory(prefix="poise-pass-") as made:
        folder = uhd_shots(Path(made) / "reel", "tif", given.shots, PICTURES)
        if given.tmux:
            told("in tmux", in_tmux(folder, given.shots))
            return
        waits, solved, memory = pass_over(folder, given.shots)
        told("on a pty", waits)
        verdict("auto, median", 1e3 * statistics.median(solved), None, "ms", f"(worst {1e3 * max(solved):.0f})")
        verdict("peak memory", memory, MEMORY, "MiB")


if __name__ == "__main__":
    main()
