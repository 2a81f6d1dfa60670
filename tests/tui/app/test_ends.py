"""Nothing that was decided is lost when the app ends by force: killed, told to end, or its terminal gone.

A session is a row of decisions in a known order, so what is on disk tells how many of them were saved, and the screen,
read by pyte from the bytes up to a moment, how many had been made by then.
"""

import os
import random
import re
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
import pytest
from terminals import Emulated, Pty
from thorough import many
from until import until

from poise.correction import Correction
from poise.frames import Depth, Frame, scan, write
from poise.sidecar import load
from poise_tui.session.session import Session

APP = [sys.executable, "-c", "from poise.commands import main; main()"]
ENDS: dict[str, tuple[Callable[[Pty], None], int | None]] = {
    "killed": (lambda pty: pty.kill(), -signal.SIGKILL),
    "hung up": (lambda pty: pty.kill(signal.SIGHUP), 128 + signal.SIGHUP),
    "told to end": (lambda pty: pty.kill(signal.SIGTERM), 128 + signal.SIGTERM),
    "terminal closed": (lambda pty: pty.close_terminal(), 128 + signal.SIGHUP),
}
RUNS = {how: many(1, 7) for how in ENDS}
SHOTS = 40
ROUND = "oooS"
"""Three steps of saturation, then the shot is skipped, which goes on to the next one."""
STEP = 0.02
SATURATION = re.compile(r" (\d\.\d{3}) +\+0\.000 *$", re.MULTILINE)
"""The last but one column of the desk."""


def pier(folder: Path) -> Path:
    """A folder of small stills."""
    folder.mkdir()
    pixels = np.random.default_rng(3).integers(0, 256, (18, 32, 3), np.uint8)
    write(folder / "pier_01.png", Frame(pixels, Depth.U8))
    for number in range(2, SHOTS + 1):
        (folder / f"pier_{number:02}.png").hardlink_to(folder / "pier_01.png")
    return folder


def by_shot(count: int) -> list[int]:
    """How many of the first so many decisions were about each shot."""
    return [min(max(count - len(ROUND) * shot, 0), len(ROUND)) for shot in range(SHOTS)]


def on_disk(folder: Path) -> list[int]:
    """How many decisions each shot's sidecar holds, every one of them read."""
    counts = [0] * SHOTS
    for path in folder.glob("*.poise.json"):
        sidecar = load(path)
        steps = (sidecar.correction.saturation - 1) / STEP
        assert steps == pytest.approx(round(steps))
        counts[int(path.name[5:7]) - 1] = round(steps) + (sidecar.state == "skipped")
    return counts


def made_until(pty: Pty, moment: float) -> int:
    """How many decisions, at least, the terminal had told of at a moment.

    A frame comes in pieces: where the number of the shot is new, the saturation may still be that of the last one.
    """
    screen, position = Emulated(80, 24), 0
    shot, made, stale = 1, 0, -1
    for when, end in pty.record.chunks():
        if when > moment:
            break
        screen.feed(pty.record.between(position, end))
        position, text = end, str(screen)
        if (at := re.search(r"shots (\d+)/", text)) and (shown := SATURATION.search(text)):
            steps = round((float(shown[1]) - 1) / STEP)
            if int(at[1]) != shot:
                shot, stale = int(at[1]), steps
            made = steps
            stale = stale if made == stale else -1
    return len(ROUND) * (shot - 1) + (0 if made == stale else made)


def leftovers(folder: Path) -> list[str]:
    """What is neither a picture nor a sidecar."""
    return [path.name for path in folder.iterdir() if not path.name.endswith((".png", ".png.poise.json"))]


def one_end(how: str, number: int, folder: Path) -> None:
    """A session of random length and pace, and its end.

    A kill may cost what was decided in the last half second: it comes as soon as what was on the screen at some moment
    is on disk, while keys go on.
    """
    chance = random.Random(f"{how} {number}")
    end, code = ENDS[how]
    lasts = chance.uniform(0.1, 1.8)
    with Pty([*APP, str(pier(folder))], 80, 24) as pty:
        pty.wait_for("undo 0")
        sent, begun = 0, time.monotonic()

        def typed() -> None:
            nonlocal sent
            if sent < len(ROUND) * SHOTS - 1:
                pty.send(ROUND[sent % len(ROUND)])
                sent += 1
            time.sleep(chance.uniform(0.005, 0.08))

        while time.monotonic() < begun + lasts:
            typed()
        ended = time.monotonic()
        if how == "killed":
            wanted = by_shot(made_until(pty, ended))
            until(lambda: typed() or all(map(int.__le__, wanted, on_disk(folder))))
        end(pty)
        assert pty.wait() == code, how
        known = made_until(pty, ended)
    saved = on_disk(folder)
    assert all(map(int.__le__, by_shot(known), saved)), f"{how}: {known} were made, saved: {saved}"
    assert all(map(int.__le__, saved, by_shot(sent))), f"{how}: {sent} keys were sent, saved: {saved}"
    if how != "killed":
        assert saved == by_shot(sum(saved)), f"{how}: not one row of decisions: {saved}"
        assert leftovers(folder) == []


def test_whatever_ends_a_session_its_decisions_are_on_disk(tmp_path: Path) -> None:
    with ThreadPoolExecutor(6) as pool:
        runs = [
            pool.submit(one_end, how, number, tmp_path / f"{how} {number}")
            for how, count in RUNS.items()
            for number in range(count)
        ]
    assert len(runs) == sum(RUNS.values()) >= len(ENDS)
    for run in runs:
        run.result()


DYING = """
import itertools, os, sys
from pathlib import Path
from poise.correction import Correction
from poise.frames import scan
from poise_tui.session.session import Session

folder, last = sys.argv[1], int(sys.argv[2])
session, calls, sync = Session(scan([Path(folder)]).shots), itertools.count(1), os.fsync
os.fsync = lambda handle: os.kill(os.getpid(), 9) if next(calls) == last else sync(handle)
for saturation in (1.02, 1.04):
    session.correct(Correction(saturation=saturation))
    session.save_all()
"""
"""Two saves, killed at one of the calls that wait for the disk."""


@pytest.mark.parametrize("synced", [1, 2, 3, 4])
def test_a_save_that_is_killed_leaves_a_whole_sidecar_and_the_next_save_sweeps_up(synced: int, tmp_path: Path) -> None:
    """Killed as a save waits for the disk: file, folder, and both once more with a sidecar already there."""
    folder = pier(tmp_path / "pier")
    done = subprocess.run([sys.executable, "-c", DYING, str(folder), str(synced)], check=False)
    assert done.returncode == -signal.SIGKILL
    before = on_disk(folder)[0]
    assert before == {1: 0, 2: 1, 3: 1, 4: before}[synced]
    assert len(leftovers(folder)) == synced % 2
    session = Session(scan([folder]).shots)
    saturation = session.load(0).decision.correction.saturation
    session.correct(Correction(saturation=saturation + 0.02))
    assert session.save_all() == []
    assert on_disk(folder)[0] == before + 1
    assert leftovers(folder) == []


def test_a_terminal_is_given_back_when_the_app_is_told_to_end(tmp_path: Path) -> None:
    """Told to end by another program, the shell below must be usable: DEC private modes 1049 and 25 (xterm)."""
    check = 'stty -g > before; "$@"; stty -g > after'
    with Pty(["sh", "-c", check, "sh", *APP, str(pier(tmp_path / "pier"))], folder=tmp_path) as pty:
        pty.wait_for("undo 0")
        children = Path(f"/proc/{pty.process.pid}/task/{pty.process.pid}/children")
        for child in children.read_text().split():
            os.kill(int(child), signal.SIGTERM)
        pty.wait()
        assert b"\x1b[?1049l" in pty.since(0)
        assert b"\x1b[?25h" in pty.since(0)
    assert (tmp_path / "before").read_text() == (tmp_path / "after").read_text()
