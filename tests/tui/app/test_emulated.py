"""What the app sent over a whole session shows the same screen as a redraw of everything does.

The judge is pyte, a terminal emulator: fed all bytes since the start it must hold, cell by cell, what one fed only the
bytes of a full redraw holds. Keys are random but seeded: every key of the default keymap but the one that quits. Three
of the nine pairs of size and colours get many keys, and the other six, in a thorough run, a few.
"""

import random
import shutil
import sys
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from terminals import KEYS, Emulated, Pty, environment
from thorough import many
from until import LIMIT

from poise_tui.keys.keymap import DEFAULT

APP = [sys.executable, "-c", "from poise.commands import main; main()"]
FRAMES = Path(__file__).parents[3] / "demo_frames"
COLOURS = {
    "truecolor": environment(),
    "256": environment(COLORTERM=None),
    "16": environment(COLORTERM=None, TERM="xterm"),
}
SIZES = ((80, 24), (120, 40), (200, 60))
MANY, FEW, PART = many(80, 500), many(40, 70), many(20, 60)
"""Keys where there are many, where there are few, and between two sizes."""
PLACES = (*SIZES, (20, 5), (1, 1), (100, 31), (61, 17))
QUIET = 1.2
"""Seconds after which nothing more comes by itself: readings of every pixel come 0.7 s after the last key."""
SOLVED = ("no chart", "chart:", "auto:", "match:")
"""How lines begin that a thread says when it is done, which may be long after the last key."""
ANSWER = "~ does nothing here"
RESTLESS = (ANSWER, "readings % ~", "covers ~", "measuring ...", "reading ...")
"""What the screen shows while something is still to come, for which a busy machine may take its time."""
TYPED = {
    ":": ("go 3", "set exposure 0.25", "note fog over the quay", "theme light", "theme dark", "source s", "frame 103"),
    "F": ("ferry", "night", "no such shot"),
    "H": ("wait for the tide", ""),
}
ALL = sorted({key for keys in DEFAULT.values() for key in keys} - {*DEFAULT["quit"], *DEFAULT["redraw"]})
REDRAW = "\x0c"


@pytest.fixture(scope="module")
def day(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("day")
    for file in FRAMES.iterdir():
        if file.suffix in (".png", ".tif", ".jpg", ".exr"):
            shutil.copy(file, folder)
    return folder


def presses(count: int, seed: str) -> Iterator[str]:
    """Keys as bytes; whatever opens a line or help is followed by what leaves it again."""
    chance = random.Random(seed)
    for _ in range(count):
        key = chance.choice(ALL)
        yield KEYS.get(key, key)
        if key in TYPED:
            yield chance.choice(TYPED[key])
            yield chance.choice((KEYS["enter"], KEYS["escape"]))
        elif key == "?":
            yield from chance.choices((KEYS["down"], KEYS["pagedown"], KEYS["up"], " "), k=3)
            yield "x"


def settle(pty: Pty) -> None:
    """Leaves whatever is open, sees that every key was answered, and waits until nothing comes any more."""
    pty.send(KEYS["escape"])
    time.sleep(0.25)  # a key right behind Escape would make one key with it
    limit = time.monotonic() + LIMIT
    pty.send("~")
    while not pty.screen().shows(ANSWER) and time.monotonic() < limit:
        time.sleep(0.5)
        pty.send("~")  # what a thread has to say may take the line
    pty.send("1")
    while any(pty.screen().shows(word) for word in RESTLESS) and time.monotonic() < limit:
        time.sleep(0.1)
    pty.wait_quiet(QUIET)


def differences(one: Emulated, other: Emulated) -> list[str]:
    """Cells that are not the same, in words."""
    return [
        f"column {x}, row {y}: {a} after all keys, {b} after the redraw"
        for y, (first, second) in enumerate(zip(one.cells(), other.cells(), strict=True))
        for x, (a, b) in enumerate(zip(first, second, strict=True))
        if a != b
    ]


def check(pty: Pty, again: bool = False) -> None:
    """Compares what is shown with a redraw, for which a machine that does much else has its time.

    Args:
        again: what a thread had solved came in between, the first time.
    """
    settle(pty)
    assert pty.process.poll() is None, f"the app ended:\n{pty.screen()}"
    shown, mark = pty.screen(), pty.mark()
    pty.send(REDRAW)
    limit = time.monotonic() + LIMIT
    while (found := differences(shown, pty.screen(mark))) and time.monotonic() < limit:
        time.sleep(0.1)
    if found and str(pty.screen(mark)).splitlines()[-1].startswith(SOLVED) and not again:
        return check(pty, again=True)  # that was not asked for by the redraw: it came while it was drawn
    assert not found, f"{len(found)} cells: " + "; ".join(found[:5])
    assert any(shown.shows(pane) for pane in ("readings", "mattes", "patch"))  # as the current mode has it


def session(colours: str, size: tuple[int, int], day: Path, sidecars: Path) -> None:
    """Random keys and sizes, and the comparison at their end."""
    count = MANY if list(COLOURS).index(colours) == SIZES.index(size) else FEW
    seed = f"{colours} {size}"
    chance = random.Random(seed)
    with Pty([*APP, str(day), "--sidecars", str(sidecars)], *size, COLOURS[colours]) as pty:

        def press(count: int, seed: str, resized: int) -> None:
            for number, key in enumerate(presses(count, seed), 1):
                pty.send(key)
                time.sleep(0.15 if key == KEYS["escape"] else chance.uniform(0, 0.012))
                if number % PART == 0 and number < resized:
                    pty.resize(*chance.choice(PLACES))

        pty.wait_for("shots 1/")
        press(count - PART, seed, count)
        pty.resize(*size)
        press(PART, f"{seed} at last", 0)
        check(pty)
        pty.send("Q")
        assert pty.wait() == 0


def test_any_session_ends_on_the_screen_that_a_redraw_draws(day: Path, tmp_path: Path) -> None:
    pairs = [(colours, size) for size in SIZES for colours in COLOURS]
    pairs = many(pairs[::4], pairs)  # every size and depth once
    with ThreadPoolExecutor(5) as pool:  # they mostly wait
        runs = [pool.submit(session, *pair, day, tmp_path / str(place)) for place, pair in enumerate(pairs)]
    faults = [f"{pair}: {fault}" for pair, run in zip(pairs, runs, strict=True) if (fault := run.exception())]
    assert not faults, "\n".join(faults)
