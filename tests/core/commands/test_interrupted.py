"""An interrupted apply: what was finished stays whole, and no partial output is left."""

import json
import os
import signal
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from until import LIMIT, until

from poise.frames import Depth, Frame, read, write

FRAMES = 30


@pytest.fixture(scope="module")
def day(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("day")
    noise = np.random.default_rng(1).integers(0, 65536, (500, 800, 3), np.uint16)
    write(folder / "f.0001.png", Frame(noise, Depth.U16))
    for number in range(2, FRAMES + 1):
        (folder / f"f.{number:04d}.png").hardlink_to(folder / "f.0001.png")
    decided = {"poise": 1, "correction": {"saturation": 0.9}}
    (folder / "f.####.png.poise.json").write_text(json.dumps(decided))
    return folder


def started(day: Path, out: Path) -> subprocess.Popen[bytes]:
    """An apply that has finished at least one frame."""
    code = "from poise.commands import main\nif __name__ == '__main__': main()"
    args = [sys.executable, "-c", code, "apply", str(day), "--out", str(out), "--workers", "2"]
    process = subprocess.Popen(args, stderr=subprocess.PIPE, start_new_session=True)
    until(lambda: list(out.glob("*.png")))
    return process


@pytest.mark.parametrize("how", [signal.SIGINT, signal.SIGKILL])
def test_no_partial_output(how: signal.Signals, day: Path, tmp_path: Path) -> None:
    process = started(day, tmp_path / "out")
    if how is signal.SIGINT:
        os.killpg(process.pid, how)  # as a terminal does: the workers get it too
    else:
        process.send_signal(how)
    _, said = process.communicate(timeout=LIMIT)
    assert process.returncode == (130 if how is signal.SIGINT else -signal.SIGKILL)
    assert b"Traceback" not in said
    finished = list((tmp_path / "out").glob("*.png"))
    assert 0 < len(finished) < FRAMES
    for path in finished:
        assert read(path).pixels.shape == (500, 800, 3)
    if how is signal.SIGINT:
        assert not list((tmp_path / "out").glob(".*"))
