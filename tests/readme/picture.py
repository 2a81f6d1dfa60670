"""Makes the pictures in the README from the real program, on a real pty, with a demo shot half balanced.

Run: python tests/readme/picture.py
"""

import shutil
import sys
import tempfile
from pathlib import Path

HERE = Path(__file__).parent
ROOT = HERE.parents[1]
sys.path[:0] = [str(HERE), str(ROOT / "tests" / "bench")]

from drawing import svg  # noqa: E402
from terminals import KEYS, Pty, environment  # noqa: E402

POISE = [sys.executable, "-c", "from poise.commands import main; main()"]
WORK = (*["down"] * 7, "A", "enter", "A", "3", "e", "e")
"""To the market, a starting point, accepted; the next shot, a starting point, its highlights a little more blue."""

MATTE = (*["down"] * 2, "K", "=", "=", "right", "right", "down", "enter", "left", "enter", "7", "tab", "w")
"""The ferry's hull keyed by two samples, its edge blurred, shown with all else grey."""
CURVE = (*["down"] * 2, "A", "L", "1", "left", "down", "down", "4", *["left"] * 5, "=", "=", *["right"] * 6, "up", "up")
"""The red of the ferry lowered a little in the middle, and the master raised in the upper half."""
PICK = (*["down"] * 4, "N", "=", "=", *["right"] * 3, *["up"] * 2)
"""The cursor on the fishmonger's tiles."""

GHOST = (*["down"] * 6, "A", "T", *["up"] * 4, "A")
"""The ferry after a starting point, beside the lighthouse."""
REEL = (*["A", "down"] * 8, "E", "right", "right")
"""Most of the reel brought to a starting point, beside what is not; the quay in hand."""


def desk(name: str, columns: int, rows: int, keys: tuple[str, ...], *options: str) -> None:
    """The app after some keys."""
    with tempfile.TemporaryDirectory() as folder:
        reel = shutil.copytree(ROOT / "demo_frames", Path(folder) / "harbour")
        with Pty([*POISE, str(reel), *options], columns, rows, environment()) as pty:
            pty.wait_for("alley_07")
            for key in keys:
                pty.wait_quiet(0.5)
                pty.send(KEYS.get(key, key))
            pty.wait_quiet(2.0)
            (HERE / name).write_text(svg(pty.screen()), encoding="utf-8")


def show() -> None:
    """One sheet of `poise show`."""
    with Pty([*POISE, "show", str(ROOT / "demo_frames" / "market_03.tif")], 121, 52, environment()) as pty:
        pty.wait_for("outside")
        pty.wait_quiet(0.5)
        (HERE / "show.svg").write_text(svg(pty.screen()), encoding="utf-8")


if __name__ == "__main__":
    desk("desk.svg", 120, 40, WORK)
    desk("desk-small.svg", 80, 24, (*WORK, "7"), "--light")
    desk("matte.svg", 120, 40, MATTE)
    desk("matte-small.svg", 80, 24, MATTE, "--light")
    desk("curve.svg", 120, 40, CURVE)
    desk("pick.svg", 100, 30, PICK)
    desk("reel.svg", 120, 40, REEL)
    desk("ghost.svg", 120, 40, GHOST)
    show()
